"""Photos are judged by their content, cleaned, kept in private, and shown only to those who measure."""

from __future__ import annotations

import io
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image
from pytest_django import DjangoCaptureOnCommitCallbacks

from dispensing.models import AuditEvent, FittingPhoto, PhotoMeasuring
from dispensing.services.photo_fittings import start_measuring
from tests.builders import a_frame, a_patient
from tests.dispensing.photo_fittings.rendered import FOCAL_PX, front_jpeg, usual_scene
from tests.known import there
from tests.people import Answer, person, signed_in

pytestmark = pytest.mark.django_db


def picture(kind: str = "JPEG", size: tuple[int, int] = (640, 480)) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, (200, 170, 150)).save(out, kind)
    return out.getvalue()


@pytest.fixture
def measuring() -> PhotoMeasuring:
    return start_measuring(actor=person("ravi"), patient=a_patient(), frame=a_frame(), near_distance_mm=400)


def take(
    measuring: PhotoMeasuring, content: bytes, *, view: str = "front", name: str = "photo.jpg", who: str = "ravi"
) -> Answer:
    form = {"view": view, "photo": SimpleUploadedFile(name, content)}
    return signed_in(who).post(f"/photo-fittings/{measuring.public_id}/photos/", form, follow=True)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_a_photo_of_any_usual_kind_is_taken_in_and_marked_next(measuring: PhotoMeasuring, kind: str) -> None:
    answer = take(measuring, picture(kind))
    photo = FittingPhoto.objects.get()
    assert answer.request["PATH_INFO"] == f"/photos/{photo.public_id}/mark/"
    assert (photo.width_px, photo.height_px, photo.focal_px) == (640, 480, None)
    assert Image.open(photo.file).format == "JPEG"
    assert max(Image.open(photo.thumbnail).size) == 320


def test_place_and_camera_are_gone_from_the_stored_file_and_the_focal_length_is_kept_as_a_number(
    measuring: PhotoMeasuring,
) -> None:
    content = front_jpeg(usual_scene())
    assert b"Secret pocket camera" in content
    take(measuring, content, name="Margery Penhallow.jpg")
    photo = FittingPhoto.objects.get()
    for file in (photo.file, photo.thumbnail):
        stored = file.read()
        assert b"Secret" not in stored
        assert not Image.open(io.BytesIO(stored)).getexif()
        assert "Penhallow" not in there(file.name)
        assert str(photo.public_id) not in there(file.name)
    assert photo.focal_px == pytest.approx(FOCAL_PX)
    assert photo.focal_percent == pytest.approx(1.03, abs=0.01)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"MZ\x90\x00 a program", "The file is a program"),
        (b"%PDF-1.4\n%%EOF\n", "The file is a PDF"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>", "a web page or drawing"),
        (b"", "The file is empty"),
        (picture()[:900], "The photo is damaged"),
        (picture("PNG", (10_000, 6_001)), "at most 60 megapixels"),
        (picture(size=(200, 150)), "only 200 by 150 pixels"),
        (picture() + b"\0" * 40_000_000, "at most 40 MB"),
    ],
    ids=["renamed program", "PDF", "drawing with script", "empty", "broken", "60 megapixels", "tiny", "too large"],
)
def test_a_file_that_cannot_serve_is_refused_in_clear_words(measuring: PhotoMeasuring, content: Any, says: str) -> None:
    assert says in take(measuring, content).content.decode()
    assert not FittingPhoto.objects.exists()


@pytest.mark.parametrize(
    ("between", "renewed"), [("away", [None, True, True]), ("still", [None] * 3), ("", [None] * 3)]
)
def test_several_photos_are_taken_in_at_once_with_what_the_patient_did_between(
    measuring: PhotoMeasuring, between: str, renewed: list[bool | None]
) -> None:
    sent = [SimpleUploadedFile(f"{number}.jpg", picture()) for number in range(3)]
    form = {"view": "front", "photo": sent, "between": between, "pitch_deg": "1.5 - -2"}
    ravi = signed_in("ravi")
    answer = ravi.post(f"/photo-fittings/{measuring.public_id}/photos/", form, follow=True)
    photos = list(FittingPhoto.objects.order_by("pk"))
    assert answer.request["PATH_INFO"] == f"/photos/{photos[0].public_id}/mark/"
    assert [photo.marks.get("camera_pitch_deg") for photo in photos] == [1.5, None, -2.0]
    assert [(photo.marks.get("extra") or {}).get("renewed") for photo in photos] == renewed
    assert f'/photos/{photos[1].public_id}/mark/">Next photo' in answer.content.decode()


def test_of_several_photos_the_one_that_cannot_serve_is_named_and_the_others_are_kept(
    measuring: PhotoMeasuring,
) -> None:
    take(measuring, picture())
    sent = [SimpleUploadedFile("1.jpg", picture()), SimpleUploadedFile("2.jpg", b"MZ")]
    form = {"view": "front", "photo": sent, "between": "away"}
    page = signed_in("ravi").post(f"/photo-fittings/{measuring.public_id}/photos/", form, follow=True).content.decode()
    assert "Photo 2: The file is a program" in page
    assert FittingPhoto.objects.latest("pk").marks == {"extra": {"renewed": True}}  # there was one from the front
    assert FittingPhoto.objects.count() == 2


@pytest.mark.parametrize("told", ["91", "-90.5", "nan", "up"])
def test_a_camera_cannot_point_further_up_than_straight(measuring: PhotoMeasuring, told: str) -> None:
    form = {"view": "front", "photo": SimpleUploadedFile("1.jpg", picture()), "pitch_deg": told}
    page = signed_in("ravi").post(f"/photo-fittings/{measuring.public_id}/photos/", form, follow=True).content.decode()
    assert "is not told as an angle" in page
    assert not FittingPhoto.objects.exists()


def test_a_photo_must_be_said_to_be_from_the_front_or_the_side(measuring: PhotoMeasuring) -> None:
    take(measuring, picture(), view="above")
    assert not FittingPhoto.objects.exists()


@pytest.fixture
def photo(measuring: PhotoMeasuring) -> FittingPhoto:
    take(measuring, picture())
    return FittingPhoto.objects.get()


@pytest.mark.parametrize("address", ["/photos/{}/", "/photos/{}/small/"])
def test_pictures_go_only_to_those_who_measure_and_are_not_kept_by_the_browser(
    photo: FittingPhoto, client: Client, address: str
) -> None:
    address = address.format(photo.public_id)
    answer = signed_in("ravi").get(address)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Cache-Control"] == "private, no-store"
    assert client.get(address).status_code == 302
    assert signed_in("dora").get(address).status_code == 403
    assert signed_in("lena").get(address).status_code == 403


def test_the_front_desk_sees_results_and_no_photo(photo: FittingPhoto, measuring: PhotoMeasuring) -> None:
    page = signed_in("dora").get(f"/photo-fittings/{measuring.public_id}/").content.decode()
    assert "What the photos measure" in page
    assert str(photo.public_id) not in page


def test_a_picture_can_be_deleted_and_its_marks_stay(
    photo: FittingPhoto, django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks
) -> None:
    marks = {"gaze": "camera", "right": {"pupil": [250.0, 200.0]}}
    FittingPhoto.objects.update(marks=marks)
    storage, names = photo.file.storage, [photo.file.name, photo.thumbnail.name]
    with django_capture_on_commit_callbacks(execute=True):
        signed_in("ravi").post(f"/photos/{photo.public_id}/delete-picture/")
    assert not any(storage.exists(there(name)) for name in names)
    photo.refresh_from_db()
    assert photo.marks == marks
    ravi = signed_in("ravi")
    assert ravi.get(f"/photos/{photo.public_id}/").status_code == 404
    assert "no-picture" in ravi.get(f"/photos/{photo.public_id}/mark/").content.decode()
    assert AuditEvent.objects.filter(verb="photo.delete-picture", patient=photo.measuring.patient).exists()


def test_a_photo_is_taken_off_with_its_marks_and_the_files_go_with_it(
    photo: FittingPhoto, django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks
) -> None:
    storage, name = photo.file.storage, photo.file.name
    with django_capture_on_commit_callbacks(execute=True):
        signed_in("ravi").post(f"/photos/{photo.public_id}/remove/")
    assert not FittingPhoto.objects.exists()
    assert not storage.exists(there(name))


def test_a_measuring_that_came_to_nothing_is_deleted_with_its_pictures(
    photo: FittingPhoto, django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks
) -> None:
    storage, name, measuring = photo.file.storage, photo.file.name, photo.measuring
    with django_capture_on_commit_callbacks(execute=True):
        signed_in("ravi").post(f"/photo-fittings/{measuring.public_id}/discard/")
    assert not PhotoMeasuring.objects.exists()
    assert not storage.exists(there(name))
    verbs = set(AuditEvent.objects.values_list("verb", flat=True))
    assert verbs == {"patient.look", "photo-fitting.start", "photo.add", "photo-fitting.discard"}


def test_a_thirteenth_photo_is_refused(measuring: PhotoMeasuring, photo: FittingPhoto) -> None:
    for _ in range(11):
        take(measuring, picture())
    assert "12 photos at most" in take(measuring, picture()).content.decode()


def test_a_measuring_begins_from_the_chosen_frame_and_waits_on_home_and_patient_page() -> None:
    patient, frame = a_patient(), a_frame()
    ravi = signed_in("ravi")
    chosen = ravi.get(f"/patients/{patient.public_id}/fittings/new/?from=photos").content.decode()
    address = f"/patients/{patient.public_id}/photo-fittings/new/{frame.public_id}/"
    assert address in chosen
    answer = ravi.post(address, {"near_distance_mm": "350"})
    measuring = PhotoMeasuring.objects.get()
    assert answer["Location"] == f"/photo-fittings/{measuring.public_id}/"
    assert measuring.near_distance_mm == 350
    for page in ("/", f"/patients/{patient.public_id}/"):
        assert str(measuring.public_id) in signed_in("ines").get(page).content.decode()
    assert str(measuring.public_id) not in signed_in("dora").get("/").content.decode()


def test_another_patient_s_own_frame_is_refused() -> None:
    frame = a_frame(owner=a_patient())
    patient = a_patient()
    answer = signed_in("ravi").post(
        f"/patients/{patient.public_id}/photo-fittings/new/{frame.public_id}/", {"near_distance_mm": "400"}
    )
    assert "belongs to another patient" in answer.content.decode()
    assert not PhotoMeasuring.objects.exists()
