"""Scans of a prescription's paper: looked at by content, cleaned, stored under a random name, never public.

A picture is decoded, turned upright and written anew as JPEG, so that nothing but its pixels is kept: no place,
no camera, no thumbnail, nothing hidden behind the picture. A PDF is kept as it is and only ever handed out as a
download.
"""

import io
import uuid
import warnings

from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from PIL import Image, ImageOps, UnidentifiedImageError
from pillow_heif import HeifImagePlugin  # noqa: F401 - teaches Pillow HEIC

from dispensing.models import Prescription, PrescriptionScan, StaffUser
from dispensing.services.audit import record

MAX_PIXELS = 60_000_000
MAX_BYTES = 10 * 1024 * 1024
MAX_SIDE_PX = 3000
"""A written page at 250 dots an inch: the smallest print stays readable."""

PICTURES = ("JPEG", "PNG", "WEBP", "HEIF")
ACCEPTED = "JPEG, PNG, WebP, HEIC or PDF"


@transaction.atomic
def add_scan(*, actor: StaffUser | None, prescription: Prescription, upload: UploadedFile) -> PrescriptionScan:
    """Keep a scan. Raises ValidationError with what is wrong with the file."""
    content, content_type, suffix = cleaned_scan(upload)
    scan = PrescriptionScan(prescription=prescription, content_type=content_type, added_by=actor)
    scan.file.save(f"{uuid.uuid4()}.{suffix}", ContentFile(content), save=False)
    scan.save()
    record(actor=actor, verb="scan.add", target=scan, patient=prescription.patient)
    return scan


@transaction.atomic
def remove_scan(*, actor: StaffUser | None, scan: PrescriptionScan) -> None:
    """Delete a scan, of the wrong paper for example; that it was there stays on the record."""
    record(actor=actor, verb="scan.remove", target=scan, patient=scan.prescription.patient)
    storage, name = scan.file.storage, scan.file.name
    scan.delete()
    transaction.on_commit(lambda: storage.delete(name))


def cleaned_scan(upload: UploadedFile) -> tuple[bytes, str, str]:
    """(bytes to keep, content type, suffix), judged by what the file holds and not by its name."""
    if (upload.size or 0) > MAX_BYTES:
        raise ValidationError(f"This file has {upload.size / 1024**2:.0f} MB; 10 MB is the most. Scan it smaller.")
    content = upload.read()
    if content.startswith(b"%PDF-"):
        return content, "application/pdf", "pdf"
    return _clean_picture(content), "image/jpeg", "jpg"


def _clean_picture(content: bytes) -> bytes:
    try:
        with warnings.catch_warnings():
            # Pillow's own alarm rings at 89 megapixels; ours, below, at 60.
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            picture = Image.open(io.BytesIO(content), formats=PICTURES)
            _refuse_bomb(picture.width * picture.height)
            # A large JPEG is decoded smaller at once: a quarter of the memory.
            picture.draft("RGB", (MAX_SIDE_PX, MAX_SIDE_PX))
            kept = _on_white(_shrunk(ImageOps.exif_transpose(picture)))
    except Image.DecompressionBombError:
        raise ValidationError(_too_many_pixels("far more than 60")) from None
    except UnidentifiedImageError:
        raise ValidationError(f"This file is not a picture or PDF, whatever its name says. Use {ACCEPTED}.") from None
    except (OSError, SyntaxError, ValueError, RuntimeError):
        raise ValidationError("This picture is damaged and cannot be read. Scan or photograph it again.") from None
    written = io.BytesIO()
    kept.save(written, "JPEG", quality=85)
    return written.getvalue()


def _shrunk(picture: Image.Image) -> Image.Image:
    if picture.mode.startswith("I"):
        # Sixteen bits of grey, as some scanners write; the upper eight are all that shows.
        picture = picture.point(lambda grey: grey * (1 / 256)).convert("L")
    picture.thumbnail((MAX_SIDE_PX, MAX_SIDE_PX))
    return picture


def _refuse_bomb(pixels: int) -> None:
    if pixels > MAX_PIXELS:
        raise ValidationError(_too_many_pixels(f"{pixels / 1_000_000:.0f}"))


def _too_many_pixels(found: str) -> str:
    return f"This picture has {found} megapixels; 60 is the most. Scan or photograph it smaller."


def _on_white(picture: Image.Image) -> Image.Image:
    """Without transparency, which JPEG does not have and which would turn black."""
    rgba = picture.convert("RGBA")
    page = Image.new("RGB", rgba.size, "white")
    page.paste(rgba, mask=rgba.getchannel("A"))
    return page
