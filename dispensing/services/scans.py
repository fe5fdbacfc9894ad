"""Scans of a prescription's paper: checked by content, cleaned, stored under a random name, never public.

A picture is decoded, turned upright and rewritten as JPEG, so that nothing but its pixels is kept: no location, camera
details or thumbnail, and nothing hidden after the picture data. A PDF is kept unchanged and only ever served as a
download.
"""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction

from dispensing.decoding.pictures import clean_picture
from dispensing.fitting.photos import PhotoRefused
from dispensing.models import Prescription, PrescriptionScan, StaffUser
from dispensing.services.audit import record
from dispensing.services.files import delete_after_commit, keep
from dispensing.services.paper_figures import keep_figures

MAX_BYTES = 10 * 1024 * 1024
MAX_SIDE_PX = 3000
"""A written page at 250 dots an inch: the smallest print stays readable."""


PDF_END, PDF_END_WITHIN_BYTES = b"%%EOF", 1024
"""Where readers look for the mark that ends every PDF (ISO 32000-1, 7.5.5)."""


def add_scan(*, actor: StaffUser | None, prescription: Prescription, upload: UploadedFile[bytes]) -> PrescriptionScan:
    """Store a scan. Raises ValidationError with what is wrong with the file."""
    content, content_type, suffix = cleaned_scan(upload)  # outside the transaction: it may wait for its turn
    scan = PrescriptionScan(prescription=prescription, content_type=content_type, added_by=actor)
    with transaction.atomic():
        scan.sha256 = keep(scan.file, content, suffix)
        scan.save()
        record(actor=actor, verb="scan.add", target=scan, patient=prescription.patient)
    return scan


@transaction.atomic
def remove_scan(*, actor: StaffUser | None, scan: PrescriptionScan) -> None:
    """Delete a scan, of the wrong paper for example; the audit trail still shows that it was there."""
    record(actor=actor, verb="scan.remove", target=scan, patient=scan.prescription.patient)
    file = scan.file
    scan.delete()
    keep_figures(scan.prescription)
    delete_after_commit([file])


def cleaned_scan(upload: UploadedFile[bytes]) -> tuple[bytes, str, str]:
    """(bytes to store, content type, suffix), judged by what the file contains and not by its name."""
    size = upload.size or 0
    if size > MAX_BYTES:
        raise ValidationError(f"This file has {size / 1024**2:.0f} MB; 10 MB is the most. Scan it smaller.")
    content = upload.read()
    if content.startswith(b"%PDF-"):
        if PDF_END not in content[-PDF_END_WITHIN_BYTES:]:
            raise ValidationError("This PDF is cut off or damaged: its end is missing. Save or scan it once more.")
        return content, "application/pdf", "pdf"
    return _clean_picture(content), "image/jpeg", "jpg"


def _clean_picture(content: bytes) -> bytes:
    try:
        return clean_picture(content, MAX_SIDE_PX)
    except PhotoRefused as refused:
        raise ValidationError(f"{refused} A scan may also be a PDF.") from refused
