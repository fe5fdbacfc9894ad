"""How well papers in layouts unknown to the reader are read: ``python -m tests.reading.on_other_layouts``.

Prints, for each way the paper came (clean, scanned, photographed) and each layout, the share of figures read right,
left empty, and wrong; and every wrong one in full, because a wrong figure costs more than any number of empty ones.
"""

from __future__ import annotations

import argparse
import io
import json
import random
import subprocess
import sys
import tempfile
from collections import Counter
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pypdfium2
import weasyprint

from tests.reading.other_layouts import LAYOUTS, Paper

DPI = 200
ROOT = Path(__file__).parents[2]


def drawn(paper: Paper) -> np.ndarray:
    """The page as grey values, white paper, at 200 dots an inch."""
    pdf = weasyprint.HTML(string=paper.html).write_pdf()
    page = pypdfium2.PdfDocument(io.BytesIO(pdf))[0]
    return np.asarray(page.render(scale=DPI / 72).to_pil().convert("L"))


def scanned(picture: np.ndarray, draw: random.Random) -> np.ndarray:
    height, width = picture.shape
    turn = cv2.getRotationMatrix2D((width / 2, height / 2), draw.uniform(-2.5, 2.5), 1)
    turned = cv2.warpAffine(picture, turn, (width, height), borderValue=245.0)
    noise = np.random.default_rng(draw.randrange(10**6)).normal(0, 8, picture.shape)
    return np.clip(turned * 0.93 + noise, 0, 255).astype(np.uint8)


def photographed(picture: np.ndarray, draw: random.Random) -> np.ndarray:
    height, width = picture.shape
    margin = 0.05
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], dtype=np.float32)
    off = [[draw.uniform(0, margin) * width, draw.uniform(0, margin) * height] for _ in corners]
    moved = corners + np.array(off, dtype=np.float32)
    bent = cv2.warpPerspective(picture, cv2.getPerspectiveTransform(corners, moved), (width, height), borderValue=90.0)
    shade = np.linspace(draw.uniform(0.55, 0.8), draw.uniform(0.85, 1.0), width)[None, :]
    blurred = cv2.GaussianBlur(bent * shade, (0, 0), draw.uniform(0.6, 1.1))
    noise = np.random.default_rng(draw.randrange(10**6)).normal(0, 5, picture.shape)
    return np.clip(blurred + noise, 0, 255).astype(np.uint8)


WAYS = {"clean": lambda picture, _: picture, "scanned": scanned, "photographed": photographed}


def read(files: list[Path]) -> dict[str, dict[str, Any]]:
    """Each file's reading by its name; a file that could not be read has none."""
    command = [sys.executable, str(ROOT / "manage.py"), "read_prescription", *map(str, files)]
    done = subprocess.run(command, capture_output=True, text=True)
    return {reading["file"]: reading for reading in map(json.loads, done.stdout.splitlines())}


def value_of(reading: dict[str, Any], key: str) -> tuple[float | None, float]:
    """The figure read for ``right.sphere`` or ``pd_mm`` with its confidence; None where it was left empty."""
    part: Any = reading
    for name in key.split("."):
        part = (part or {}).get(name)
    if isinstance(part, list):
        part = part[0].get("amount") if part else None
    if not part or part.get("value") is None:
        return None, 0.0
    return float(part["value"]), float(part.get("confidence", 0))


def judged(paper: Paper, reading: dict[str, Any]) -> list[tuple[str, str, float | None, float | None, float]]:
    """For each figure of the paper and each that it does not have: its key, the outcome, truth, reading, confidence."""
    found = []
    for key, truth in paper.figures.items():
        value, confidence = value_of(reading, key)
        if value is None:
            outcome = "rightly empty" if truth is None else "empty"
        else:
            outcome = "right" if truth is not None and abs(value - truth) < 0.001 else "WRONG"
        found.append((key, outcome, truth, value, confidence))
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--each", type=int, default=2, help="papers of each layout")
    parser.add_argument("--seed", type=int, default=20261130)
    parser.add_argument("--way", choices=WAYS, action="append")
    given = parser.parse_args()
    for way in given.way or WAYS:
        draw = random.Random(given.seed)
        counts: Counter[tuple[str, str]] = Counter()
        with tempfile.TemporaryDirectory() as folder:
            papers = [layout(draw) for _ in range(given.each) for layout in LAYOUTS]
            files = [Path(folder) / f"{index:03d}-{paper.layout}.jpg" for index, paper in enumerate(papers)]
            for paper, file in zip(papers, files):
                cv2.imwrite(str(file), WAYS[way](drawn(paper), draw), [cv2.IMWRITE_JPEG_QUALITY, 80])
            readings = read(files)
            for paper, file in zip(papers, files):
                for key, outcome, truth, value, confidence in judged(paper, readings.get(str(file), {})):
                    counts[paper.layout, outcome] += 1
                    if outcome == "WRONG":
                        print(f"  {way} {file.name} {key}: printed {truth}, read {value} (confidence {confidence:.2f})")
        report(way, counts)


def report(way: str, counts: Counter[tuple[str, str]]) -> None:
    for layout in [*sorted({layout for layout, _ in counts}), "all"]:
        of = {
            outcome: sum(n for (one, name), n in counts.items() if name == outcome and layout in (one, "all"))
            for outcome in ("right", "empty", "WRONG", "rightly empty")
        }
        printed = of["right"] + of["empty"] + of["WRONG"]
        share = 100 * of["right"] / printed if printed else 0
        print(f"{way:13} {layout:25} right {share:5.1f} % of {printed:4}; empty {of['empty']:3}; wrong {of['WRONG']:3}")


if __name__ == "__main__":
    main()
