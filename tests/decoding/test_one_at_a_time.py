"""A picture that is made to do harm ends its own child process and is refused in words; the next one is opened."""

from __future__ import annotations

import fcntl
import io
import os
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image
from pytest_django import Settings

from dispensing.decoding import one_at_a_time
from dispensing.decoding.child import TOO_MUCH_MEMORY
from dispensing.decoding.one_at_a_time import BUSY, GAVE_UP, TOO_SLOW, TURN, in_child
from dispensing.decoding.pictures import clean_picture, read_photo, thumbnail
from dispensing.fitting.photos import PhotoRefused
from dispensing.models import Patient, Prescription
from tests.architecture.source_tree import imports, is_in, modules
from tests.builders import a_patient
from tests.people import signed_in

JOBS = "tests.decoding.jobs"
OPENING = ("read_photo", "clean_picture", "thumbnail")


def pid() -> int:
    return int(in_child(f"{JOBS}:who", b"")[0])


def a_picture(size: tuple[int, int] = (400, 330)) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, "white").save(out, "PNG")
    return out.getvalue()


@pytest.fixture
def turns(settings: Settings, tmp_path: Path) -> Path:
    settings.DATA_DIR = tmp_path
    return tmp_path / TURN


def test_it_is_another_process_and_the_same_one_again() -> None:
    first = pid()
    assert first != os.getpid()
    assert pid() == first
    assert in_child(f"{JOBS}:who", b"\x00picture")[1] == b"\x00picture"


@pytest.mark.parametrize(
    ("job", "says", "lives_on"),
    [("greedy", TOO_MUCH_MEMORY, True), ("crash", GAVE_UP, False), ("broken", GAVE_UP, False)],
)
def test_one_that_takes_too_much_or_crashes_is_refused_and_the_next_is_opened(
    job: str, says: str, lives_on: bool
) -> None:
    before = pid()
    with pytest.raises(PhotoRefused) as refused:
        in_child(f"{JOBS}:{job}", b"")
    assert str(refused.value) == says
    assert (pid() == before) is lives_on


def test_one_that_takes_too_long_is_cut_off(monkeypatch: pytest.MonkeyPatch) -> None:
    pid()
    monkeypatch.setattr(one_at_a_time, "SECONDS_AT_MOST", 0.2)
    with pytest.raises(PhotoRefused) as refused:
        in_child(f"{JOBS}:forever", b"")
    assert str(refused.value) == TOO_SLOW
    monkeypatch.undo()
    assert pid()


def test_a_child_is_replaced_after_many_pictures(monkeypatch: pytest.MonkeyPatch) -> None:
    before = pid()
    monkeypatch.setattr(one_at_a_time, "PICTURES_OF_ONE_CHILD", 1)
    assert pid() != before


def test_four_threads_are_served_one_after_the_other(tmp_path: Path) -> None:
    mark = str(tmp_path / "at work")
    with ThreadPoolExecutor(4) as pool:
        found = list(pool.map(lambda _: in_child(f"{JOBS}:alone", b"", mark=mark)[0], range(12)))
    assert found == [True] * 12


def test_another_web_process_at_work_has_the_turn_and_waiting_ends_in_words(
    turns: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(one_at_a_time, "SECONDS_TO_WAIT_FOR_A_TURN", 0.1)
    other = os.open(turns, os.O_CREAT | os.O_RDWR)
    fcntl.flock(other, fcntl.LOCK_EX)
    with pytest.raises(PhotoRefused) as refused:
        pid()
    assert str(refused.value) == BUSY
    os.close(other)
    assert pid()


def test_a_picture_comes_back_as_it_would_from_the_functions_themselves() -> None:
    photo = read_photo(a_picture())
    assert (photo.width_px, photo.height_px, photo.focal_px, photo.focal_percent) == (400, 330, None, None)
    assert Image.open(io.BytesIO(photo.jpeg)).size == (400, 330)
    assert Image.open(io.BytesIO(thumbnail(photo.jpeg))).size == (320, 264)
    assert Image.open(io.BytesIO(clean_picture(a_picture(), 200))).size == (200, 165)
    with pytest.raises(PhotoRefused, match="is a program"):
        clean_picture(b"MZ and more", 200)


@pytest.mark.django_db
def test_a_scan_that_crashes_the_child_is_said_beside_its_field_and_what_is_typed_stays(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("dispensing.decoding.pictures.JOBS", JOBS)
    patient, beside = a_patient(), a_patient()
    typed = {"tested_on": "30.10.2026", "prescriber": "T. Prescriber", "right-sphere": "-3.25", "left-sphere": "-2.75"}
    address = reverse("prescription-new", args=[patient.public_id])
    page = signed_in("dora").post(address, {**typed, "scan": SimpleUploadedFile("a.png", a_picture())}).content.decode()
    assert GAVE_UP in page.split('id="id_scan_error"')[1].split("</ul>")[0]
    assert 'value="T. Prescriber"' in page
    assert not Prescription.objects.exists()
    assert Patient.objects.filter(pk=beside.pk).exists()


def test_no_picture_is_opened_in_the_web_process() -> None:
    """PIL, OpenCV and the functions that open pictures belong to what the child runs."""
    openers = ("PIL", "cv2", "pillow_heif", *(f"dispensing.fitting.photos.{name}" for name in OPENING))
    inside = ("dispensing.fitting", "dispensing.recognition", "orders.verification.ticket_code")
    crossed = {
        name: sorted(used for used in imports(path) if is_in(used, *openers))
        for name, path in modules()
        if not is_in(name, *inside)
    }
    assert not {name: used for name, used in crossed.items() if used}
