"""Fits how surely a side of a lens is right, on painted faces: prints the weights of `dispensing.fitting.seeing.trust`.

``python -m tests.fitting.fit_trust [FACES]``. The faces are other ones than `painted_proposals` shows.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator

import cv2
import numpy as np

from dispensing.fitting.seeing.face import find_face
from dispensing.fitting.seeing.frame import find_sides
from dispensing.fitting.seeing.proposal import px_per_mm_of
from dispensing.fitting.seeing.trust import told_by
from tests.fitting.painted_face import IRISES, SKINS, varied
from tests.fitting.painted_proposals import CONDITIONS, WRONG_MM, any_of, engraved, off_mm

SEED = 1_000_000
RIDGE = 0.3
HAIR_EACH = 6


def main(faces: int) -> None:
    cv2.setNumThreads(1)
    told, right = zip(*_sides(faces), strict=True)
    weights = fitted(np.array(told), np.array(right, float))
    print(f"{len(right)} sides, {100 * np.mean(right):.0f} % right")
    print("WEIGHTS = (" + ", ".join(f"{one:.2f}" for one in weights) + ")")


def _sides(faces: int) -> Iterator[tuple[tuple[float, ...], bool]]:
    names = list(CONDITIONS)
    for number in range(faces):
        rng = np.random.default_rng([SEED, number])
        usual = {"skin": any_of(rng, SKINS), "iris": any_of(rng, IRISES)}
        hair = {"hair_mm": float(rng.uniform(1, 8))} if number % HAIR_EACH == 0 else {}
        face = varied(rng, **{**usual, **CONDITIONS[names[number % len(names)]], **hair})
        photo, sizes = face.paint(rng), engraved(face, rng)
        seen = find_face(photo)
        if seen is None:
            continue
        irises, truth = {eye: (one.x_px, one.y_px) for eye, one in seen.irises.items()}, face.truth()
        for eye, box in find_sides(photo, irises, px_per_mm_of(irises), sizes).items():
            for name, side in box.items():
                off = off_mm(face, name, np.array([side.x_px, side.y_px]) - np.array(truth[eye][name]))
                yield told_by(side.looks), off <= WRONG_MM


def fitted(told: np.ndarray, right: np.ndarray) -> np.ndarray:
    """Weights of a logistic regression (Newton's method, a light ridge)."""
    weights = np.zeros(told.shape[1])
    for _ in range(60):
        share = 1 / (1 + np.exp(-told @ weights))
        bend = told.T * (share * (1 - share)) @ told + RIDGE * np.eye(len(weights))
        weights += np.linalg.solve(bend, told.T @ (right - share) - RIDGE * weights)
    return weights


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 130)
