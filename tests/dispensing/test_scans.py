"""Scans of paper prescriptions: judged by content, cleaned, and shown only to those who may see the patient."""

from __future__ import annotations

import io
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image
from pytest_django import DjangoCaptureOnCommitCallbacks

from dispensing.models import AuditEvent, Prescription, PrescriptionScan
from tests.builders import a_patient, a_prescription
from tests.known import there
from tests.people import signed_in

pytestmark = pytest.mark.django_db

PDF = b"%PDF-1.4\n%%EOF\n"


def picture(kind: str = "PNG", size: tuple[int, int] = (60, 40), **options: Any) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, "white").save(out, kind, **options)
    return out.getvalue()


def with_place_and_turn() -> bytes:
    image = Image.new("RGB", (60, 40), "white")
    exif = Image.Exif()
    exif[0x0112] = 6  # Turned a quarter: upright it is 40 wide.
    exif[0x010F] = "A secret camera"
    out = io.BytesIO()
    image.save(out, "JPEG", exif=exif)
    return out.getvalue()


@pytest.fixture
def prescription() -> Prescription:
    return a_prescription(a_patient())


def add(prescription: Prescription, content: bytes, name: str = "paper.png", who: str = "dora") -> str:
    answer = signed_in(who).post(
        f"/prescriptions/{prescription.public_id}/scans/", {"scan": SimpleUploadedFile(name, content)}, follow=True
    )
    return answer.content.decode()


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "WEBP", "HEIF"])
def test_a_picture_is_kept_as_a_new_picture(prescription: Prescription, kind: str) -> None:
    add(prescription, picture(kind))
    scan = PrescriptionScan.objects.get()
    assert scan.content_type == "image/jpeg"
    assert Image.open(scan.file).size == (60, 40)


@pytest.mark.parametrize(
    ("mode", "kind", "grey"),
    [("I;16", "PNG", 40_000), ("CMYK", "JPEG", (0, 0, 0, 100)), ("LA", "PNG", (156, 255)), ("P", "PNG", 5)],
)
def test_what_scanners_write_is_understood(prescription: Prescription, mode: str, kind: str, grey: Any) -> None:
    """Sixteen-bit grey, printing colours, grey with transparency, a palette: none turns black or fails."""
    out = io.BytesIO()
    Image.new(mode, (60, 40), grey).save(out, kind)
    add(prescription, out.getvalue())
    pixel = Image.open(PrescriptionScan.objects.get().file).convert("L").getpixel((30, 20))
    assert isinstance(pixel, int)
    assert mode == "P" or 145 <= pixel <= 165


def test_a_large_page_is_kept_at_a_readable_size(prescription: Prescription) -> None:
    add(prescription, picture("JPEG", (7000, 5000)))
    assert max(Image.open(PrescriptionScan.objects.get().file).size) == 3000


def test_nothing_but_the_pixels_is_kept_and_the_picture_stands_upright(prescription: Prescription) -> None:
    add(prescription, with_place_and_turn())
    scan = PrescriptionScan.objects.get()
    content = scan.file.read()
    assert b"secret" not in content
    assert Image.open(io.BytesIO(content)).size == (40, 60)
    assert not Image.open(io.BytesIO(content)).getexif()


def test_a_stored_scan_does_not_bear_the_name_it_came_with(prescription: Prescription) -> None:
    add(prescription, picture(), name="Penhallow Margery.png")
    assert "Penhallow" not in there(PrescriptionScan.objects.get().file.name)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"MZ\x90\x00 a program", "is a program"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>", "is a web page or drawing"),
        (picture("GIF"), "is a GIF"),
        (b"", "is no photo"),
        (picture("JPEG", (400, 400))[:700], "damaged"),
        (picture("PNG", (10_000, 6_001)), "at most 60 megapixels"),
        (PDF + b"\0" * (10 * 1024 * 1024), "10 MB is the most"),
        (b"%PDF-1.4\nand then the line broke", "cut off or damaged"),
    ],
    ids=[
        "renamed program",
        "drawing with script",
        "another format",
        "empty",
        "broken",
        "60 megapixels",
        "too large",
        "half a PDF",
    ],
)
def test_a_file_that_is_not_what_it_should_be_is_refused_in_clear_words(
    prescription: Prescription, content: Any, says: str
) -> None:
    page = add(prescription, content, name="paper.jpg")
    beside = page.split('id="id_scan_error"')[1].split("</ul>")[0]
    assert says in beside
    assert 'aria-invalid="true"' in page
    assert not PrescriptionScan.objects.exists()


def test_a_pdf_is_kept_and_only_ever_downloaded(prescription: Prescription) -> None:
    add(prescription, PDF, name="paper.jpg")
    scan = PrescriptionScan.objects.get()
    answer = signed_in("ravi").get(f"/scans/{scan.public_id}/")
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"].startswith("attachment")


def test_a_scan_is_served_only_to_staff_and_never_guessed_at_by_the_browser(
    prescription: Prescription, client: Client
) -> None:
    add(prescription, picture())
    address = f"/scans/{PrescriptionScan.objects.get().public_id}/"
    answer = signed_in("ravi").get(address)
    assert answer.status_code == 200
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Cache-Control"] == "private, no-store"
    assert client.get(address).status_code == 302
    assert signed_in("lena").get(address).status_code == 403


def test_a_scan_comes_along_with_the_prescription_it_belongs_to() -> None:
    patient = a_patient()
    typed = {
        "tested_on": "30.10.2020",
        "use": "distance",
        "source": "written",
        "prescriber": "T. Prescriber",
        "right-sphere": "-1.00",
        "left-sphere": "-1.25",
        "scan": SimpleUploadedFile("paper.png", picture()),
    }
    address = f"/patients/{patient.public_id}/prescriptions/new/"
    assert signed_in("dora").post(address, typed).status_code == 302
    assert PrescriptionScan.objects.get().prescription.patient == patient


def test_a_broken_scan_keeps_the_prescription_from_being_half_taken_in() -> None:
    patient = a_patient()
    typed: dict[str, Any] = {"tested_on": "30.10.2020", "use": "distance", "source": "written", "prescriber": "T. P."}
    typed |= {"right-sphere": "-1.00", "left-sphere": "-1.25", "scan": SimpleUploadedFile("paper.png", b"no")}
    answer = signed_in("dora").post(f"/patients/{patient.public_id}/prescriptions/new/", typed)
    assert b'<a href="#id_scan">Scan</a>: The file is ' in answer.content
    assert b'<ul class="errorlist" id="id_scan_error"><li>The file is ' in answer.content
    assert not patient.prescriptions.exists()


def test_a_removed_scan_is_gone_from_the_disk_but_not_from_the_record(
    prescription: Prescription, django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks
) -> None:
    add(prescription, picture())
    scan = PrescriptionScan.objects.get()
    storage, name = scan.file.storage, scan.file.name
    with django_capture_on_commit_callbacks(execute=True):
        signed_in("dora").post(f"/scans/{scan.public_id}/remove/")
    assert not storage.exists(there(name))
    assert list(AuditEvent.objects.filter(verb__startswith="scan").values_list("verb", flat=True)) == [
        "scan.remove",
        "scan.add",
    ]
