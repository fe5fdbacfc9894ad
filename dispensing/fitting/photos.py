"""Photos as they arrive from a phone: decoded, checked, turned upright, and written again without metadata.

What the geometry needs (the focal length) is read first; then everything but the picture itself is dropped: place,
time, camera and owner. It must never know about storage, patients or requests. Every refusal says in plain words what
was found and what to do.
"""

from __future__ import annotations

import io
import math
import struct
import zlib
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pillow_heif
from PIL import ExifTags, Image, ImageCms, ImageFile, ImageOps

pillow_heif.register_heif_opener()

FORMATS = ("JPEG", "PNG", "WEBP", "HEIF")
LARGEST_FILE_BYTES = 40_000_000
LARGEST_PIXELS = 60_000_000
SMALLEST_SIDE_PX = 320
JPEG_QUALITY = 92
THUMBNAIL_PX = 320
ROWS_AT_A_TIME = 512

DIAGONAL_35_MM = math.hypot(36.0, 24.0)
"""The 35 mm equivalent is defined by the angle across the diagonal (CIPA DCG-001)."""

ROUNDED_TO_WHOLE_MM_SD = 1 / math.sqrt(12)
"""The equivalent is written as a whole number, so its error is spread evenly between -0.5 and 0.5 mm."""

SIZE_AGREES = 0.01
DECODING_ERRORS = (OSError, SyntaxError, ValueError, struct.error, zlib.error, EOFError, RuntimeError, MemoryError)

OTHER_KINDS = (
    (b"%PDF", "a PDF"),
    (b"PK\x03\x04", "an archive or office file"),
    (b"GIF8", "a GIF"),
    (b"BM", "a BMP"),
    (b"II*\x00", "a TIFF or raw photo"),
    (b"MM\x00*", "a TIFF or raw photo"),
    (b"<", "a web page or drawing"),
    (b"MZ", "a program"),
)


class PhotoRefused(ValueError):
    """The file cannot be used as a photo; the text says why and what to do."""


@dataclass(frozen=True)
class Photo:
    """A photo ready to be kept: an upright JPEG without metadata, its size, and the focal length if it was given.

    ``focal_px``: focal length in pixels of this picture, None where unknown. ``focal_percent``: its standard
    deviation in per cent, for the ``spreads`` of ``fitting-points/1``. ``focal_lost``: ``cropped`` or ``zoomed`` where
    the camera gave a focal length that no longer holds.
    """

    jpeg: bytes
    width_px: int
    height_px: int
    focal_px: float | None
    focal_percent: float | None
    focal_lost: str | None = None


def read_photo(content: bytes) -> Photo:
    """Decode an uploaded file by its content, whatever its name. Raises PhotoRefused."""
    if not content:
        raise PhotoRefused("The file is empty; choose the photo again.")
    if len(content) > LARGEST_FILE_BYTES:
        raise PhotoRefused(
            f"The file has {len(content) / 1e6:.0f} MB; at most {LARGEST_FILE_BYTES / 1e6:.0f} MB are taken. "
            "Send the photo as JPEG."
        )
    with _opened(content) as image:
        _refuse_sizes(image)
        equivalent_mm, lost = _focal_length_35_mm(image)
        picture = _upright_rgb(image)
    if equivalent_mm is None:
        return Photo(_as_jpeg(picture), *picture.size, None, None, lost)
    focal_px = equivalent_mm * math.hypot(*picture.size) / DIAGONAL_35_MM
    return Photo(_as_jpeg(picture), *picture.size, focal_px, 100 * ROUNDED_TO_WHOLE_MM_SD / equivalent_mm)


def clean_picture(content: bytes, longest_px: int) -> bytes:
    """Any picture of any size as an upright JPEG without metadata, its longer side at most ``longest_px``.

    For a scan of paper, where no geometry is needed. Raises PhotoRefused.
    """
    with _opened(content) as image:
        _refuse_bombs(image)
        # A large JPEG is decoded at a smaller size from the start, which takes a quarter of the memory.
        image.draft("RGB", (longest_px, longest_px))
        picture = _upright_rgb(image)
    picture.thumbnail((longest_px, longest_px), Image.Resampling.LANCZOS)
    return _as_jpeg(picture)


def upright_pixels(content: bytes) -> npt.NDArray[np.uint8]:
    """The pixels of a photo as it is seen upright, rows × columns × RGB. Raises PhotoRefused."""
    with _opened(content) as image:
        _refuse_sizes(image)
        return np.asarray(_upright_rgb(image))


def thumbnail(jpeg: bytes, longest_px: int = THUMBNAIL_PX) -> bytes:
    """A small JPEG of a photo that ``read_photo`` made, its longer side at most ``longest_px``."""
    with Image.open(io.BytesIO(jpeg), formats=("JPEG",)) as image:
        image.draft("RGB", (longest_px, longest_px))
        small = image.convert("RGB")
    small.thumbnail((longest_px, longest_px), Image.Resampling.LANCZOS)
    return _as_jpeg(small)


def _opened(content: bytes) -> Image.Image:
    try:
        # Reads only the header: the size is checked before a single pixel is decoded.
        return Image.open(io.BytesIO(content), formats=FORMATS)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise PhotoRefused(_too_many_pixels("far more pixels")) from error
    except DECODING_ERRORS as error:
        raise PhotoRefused(_not_a_photo(content)) from error


def _not_a_photo(content: bytes) -> str:
    kind = next(
        (words for start, words in OTHER_KINDS if content.lstrip().startswith(start)), "no photo, or a damaged one"
    )
    return f"The file is {kind}; JPEG, PNG, WebP and HEIC photos are taken. Send the photo itself."


def _too_many_pixels(found: str) -> str:
    return f"The photo has {found}; at most {LARGEST_PIXELS // 1_000_000} megapixels are taken. Send a smaller photo."


def _refuse_bombs(image: Image.Image) -> None:
    width, height = image.size
    if width * height > LARGEST_PIXELS:
        raise PhotoRefused(_too_many_pixels(f"{width * height / 1e6:.0f} megapixels"))


def _refuse_sizes(image: Image.Image) -> None:
    _refuse_bombs(image)
    width, height = image.size
    if min(width, height) < SMALLEST_SIDE_PX:
        raise PhotoRefused(
            f"The photo is only {width} by {height} pixels; at least {SMALLEST_SIDE_PX} a side are needed to mark it. "
            "Send the photo in its full size."
        )


def _focal_length_35_mm(image: Image.Image) -> tuple[float | None, str | None]:
    """The focal length of a 35 mm camera with the same angle, in mm; None if not given or not reliable, and why."""
    try:
        exif = image.getexif()
        camera = exif.get_ifd(ExifTags.IFD.Exif)
        equivalent = float(camera.get(ExifTags.Base.FocalLengthIn35mmFilm) or 0)
        taken = [float(camera.get(tag) or 0) for tag in (ExifTags.Base.ExifImageWidth, ExifTags.Base.ExifImageHeight)]
        zoomed = float(camera.get(ExifTags.Base.DigitalZoomRatio) or 0)
    except (*DECODING_ERRORS, KeyError, TypeError, ZeroDivisionError):
        return None, None
    if not 5 <= equivalent <= 500:
        return None, None
    if _other_size(image, taken):
        return None, "cropped"
    # Some cameras count their digital zoom in the equivalent and some do not, and none says which.
    return (None, "zoomed") if zoomed > 1 + SIZE_AGREES else (equivalent, None)


def _other_size(image: Image.Image, taken: list[float]) -> bool:
    """Whether the picture is not as large as the camera made it: then its middle may be lost, and its scale with it."""
    if not all(taken):
        return False
    return any(abs(now / then - 1) > SIZE_AGREES for now, then in zip(sorted(image.size), sorted(taken), strict=True))


def _upright_rgb(image: Image.Image) -> Image.Image:
    """The picture alone: upright, in sRGB, with white wherever it was transparent."""
    # WeasyPrint, once loaded anywhere in the process, lets Pillow fill the missing part of a picture with grey. Half a
    # photo must never be measured, and our printed pages have no photos, so this turns it off again.
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    # A copy of the largest picture is 240 MB, so that there are never more than two at a time.
    try:
        image.load()
        ImageOps.exif_transpose(image, in_place=True)
        upright = image
        if upright.mode.startswith("I"):
            upright = upright.point(lambda value: value / 256).convert("L")  # sixteen bits a pixel
        _to_srgb(upright)
        if upright.mode in ("RGBA", "LA", "PA") or "transparency" in upright.info:
            clean = _on_white(upright)
        else:
            clean = upright if upright.mode == "RGB" else upright.convert("RGB")
        clean.info = {}
    except MemoryError:
        raise  # no fault of the photo, and said otherwise
    except DECODING_ERRORS as error:
        raise PhotoRefused("The photo is damaged: it cannot be read to its end. Send it again.") from error
    return clean


def _on_white(image: Image.Image) -> Image.Image:
    flat = Image.new("RGB", image.size, "white")
    width, height = image.size
    for top in range(0, height, ROWS_AT_A_TIME):
        band = image.crop((0, top, width, min(top + ROWS_AT_A_TIME, height))).convert("RGBA")
        flat.paste(band, (0, top), band)
    return flat


def _to_srgb(image: Image.Image) -> None:
    profile = image.info.get("icc_profile")
    if not profile or image.mode not in ("RGB", "RGBA"):
        return
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        ImageCms.profileToProfile(image, source, ImageCms.createProfile("sRGB"), inPlace=True)
    except (ImageCms.PyCMSError, OSError):
        return  # a bad profile only shifts colours


def _as_jpeg(picture: Image.Image) -> bytes:
    written = io.BytesIO()
    picture.save(written, "JPEG", quality=JPEG_QUALITY)
    return written.getvalue()
