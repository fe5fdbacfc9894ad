"""Uploaded photos: turned upright, stripped of everything but the picture, and refused in plain words if useless."""

from __future__ import annotations

import io
import math
import struct
import zlib
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from PIL import ExifTags, Image, ImageCms, ImageFile, PngImagePlugin

from dispensing.fitting.photos import DIAGONAL_35_MM, PhotoRefused, read_photo, thumbnail
from tests.known import there

WIDTH, HEIGHT = 640, 480
RED, BLUE = (220, 20, 20), (20, 20, 220)


def picture(size: Any = (WIDTH, HEIGHT), mode: str = "RGB") -> Image.Image:
    """Red on the left half, blue on the right: which way is up can be seen."""
    image = Image.new("RGB", size, BLUE)
    image.paste(RED, (0, 0, size[0] // 2, size[1]))
    return image.convert(mode)


def file_of(image: Any, kind: str = "JPEG", **options: Any) -> bytes:
    written = io.BytesIO()
    image.save(written, kind, **options)
    return written.getvalue()


def exif(
    orientation: int = 1, equivalent_mm: Any = None, taken: Any = None, secret: str = "Jane Example"
) -> Image.Exif:
    tags = Image.Exif()
    tags[ExifTags.Base.Orientation] = orientation
    tags[ExifTags.Base.Artist] = secret
    camera = tags.get_ifd(ExifTags.IFD.Exif)
    if equivalent_mm is not None:
        camera[ExifTags.Base.FocalLengthIn35mmFilm] = equivalent_mm
    if taken is not None:
        camera[ExifTags.Base.ExifImageWidth], camera[ExifTags.Base.ExifImageHeight] = taken
    tags.get_ifd(ExifTags.IFD.GPSInfo)[ExifTags.GPS.GPSLatitudeRef] = "N"
    return tags


def decoded(jpeg: Any) -> npt.NDArray[Any]:
    return np.asarray(Image.open(io.BytesIO(jpeg)).convert("RGB")).astype(int)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_every_kind_of_photo_becomes_a_jpeg_of_the_same_picture(kind: str) -> None:
    photo = read_photo(file_of(picture(), kind))
    assert (photo.width_px, photo.height_px) == (WIDTH, HEIGHT)
    assert Image.open(io.BytesIO(photo.jpeg)).format == "JPEG"
    shown = decoded(photo.jpeg)
    assert np.abs(shown[100, 100] - RED).max() < 25
    assert np.abs(shown[100, 600] - BLUE).max() < 25


@pytest.mark.parametrize("kind", ["JPEG", "WEBP", "HEIF", "PNG"])
def test_name_place_and_comments_are_gone_from_the_bytes(kind: str) -> None:
    options: dict[str, Any] = {"exif": exif().tobytes()}
    if kind == "PNG":
        text = PngImagePlugin.PngInfo()
        text.add_text("Author", "Jane Example")
        options["pnginfo"] = text
    if kind == "JPEG":
        options["comment"] = b"Jane Example"
    original = file_of(picture(), kind, **options)
    assert b"Jane Example" in original
    cleaned = read_photo(original).jpeg
    assert b"Jane Example" not in cleaned
    assert b"Exif" not in cleaned
    opened = Image.open(io.BytesIO(cleaned))
    assert not opened.getexif()
    assert "comment" not in opened.info


def test_a_photo_held_sideways_is_turned_upright() -> None:
    photo = read_photo(file_of(picture(), exif=exif(orientation=6).tobytes()))
    assert (photo.width_px, photo.height_px) == (HEIGHT, WIDTH)
    shown = decoded(photo.jpeg)  # turned to the right: what was left is on top
    assert np.abs(shown[100, 240] - RED).max() < 25
    assert np.abs(shown[600, 240] - BLUE).max() < 25


@pytest.mark.parametrize("orientation", [1, 6])
def test_the_focal_length_in_pixels_follows_from_the_35_mm_equivalent(orientation: int) -> None:
    photo = read_photo(file_of(picture(), exif=exif(orientation, equivalent_mm=26).tobytes()))
    assert photo.focal_px == pytest.approx(26 * math.hypot(WIDTH, HEIGHT) / DIAGONAL_35_MM)
    # The same angle across the diagonal: 79.5° for 26 mm.
    seen = 2 * math.degrees(math.atan(math.hypot(WIDTH, HEIGHT) / 2 / there(photo.focal_px)))
    assert seen == pytest.approx(2 * math.degrees(math.atan(43.27 / 2 / 26)), abs=0.01)
    assert photo.focal_percent == pytest.approx(100 * 0.2887 / 26, rel=0.01)


def test_a_focal_length_is_read_from_a_heic_too() -> None:
    assert read_photo(file_of(picture(), "HEIF", exif=exif(equivalent_mm=26).tobytes())).focal_px is not None


@pytest.mark.parametrize(
    ("taken", "zoom", "lost"),
    [
        ((WIDTH, HEIGHT), None, None),
        ((HEIGHT, WIDTH), 1.0, None),  # the camera counts before the photo is turned upright
        ((WIDTH, HEIGHT), 1.005, None),
        ((WIDTH, HEIGHT), 1.02, "zoomed"),
        ((WIDTH + 3, HEIGHT), None, None),
        ((WIDTH * 2, HEIGHT * 2), None, "cropped"),
        ((WIDTH, HEIGHT * 3 // 4), None, "cropped"),
    ],
)
def test_a_photo_keeps_its_focal_length_only_as_the_camera_made_it(taken: Any, zoom: Any, lost: str | None) -> None:
    tags = exif(equivalent_mm=26, taken=taken)
    if zoom is not None:
        tags.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.DigitalZoomRatio] = zoom
    photo = read_photo(file_of(picture(), exif=tags.tobytes()))
    assert photo.focal_lost == lost
    assert (photo.focal_px is None) == (lost is not None)


def test_a_photo_without_a_word_about_its_camera_has_no_focal_length() -> None:
    photo = read_photo(file_of(picture()))
    assert photo.focal_px is None
    assert photo.focal_percent is None


def test_a_transparent_photo_stands_on_white() -> None:
    clear = Image.new("RGBA", (WIDTH, HEIGHT), (0, 0, 0, 0))
    assert decoded(read_photo(file_of(clear, "PNG")).jpeg).min() > 250


def test_grey_sixteen_bit_and_palette_photos_are_read() -> None:
    deep = Image.fromarray(np.full((HEIGHT, WIDTH), 32768, np.uint16))
    assert decoded(read_photo(file_of(deep, "PNG")).jpeg).mean() == pytest.approx(128, abs=2)
    for mode in ("L", "P", "CMYK"):
        kind = "JPEG" if mode == "CMYK" else "PNG"
        assert read_photo(file_of(picture(mode=mode), kind)).width_px == WIDTH


def test_colours_of_another_colour_space_are_brought_to_the_usual_one() -> None:
    lab = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    shown = decoded(read_photo(file_of(picture(), icc_profile=lab)).jpeg)
    assert np.abs(shown[100, 100] - RED).max() < 25
    assert read_photo(file_of(picture(), icc_profile=b"no profile at all")).width_px == WIDTH


def test_a_file_is_judged_by_its_content_not_by_its_name() -> None:
    assert read_photo(file_of(picture(), "PNG")).width_px == WIDTH  # whatever it was called
    for start, kind in (
        (b"%PDF-1.7 ", "a PDF"),
        (b"PK\x03\x04", "an archive"),
        (b"GIF89a", "a GIF"),
        (b"<svg", "a web page"),
    ):
        with pytest.raises(PhotoRefused, match=kind):
            read_photo(start + bytes(200))
    with pytest.raises(PhotoRefused, match="a GIF"):
        read_photo(file_of(picture(), "GIF"))


def test_a_damaged_photo_is_refused() -> None:
    for kind in ("JPEG", "PNG", "WEBP"):
        whole = file_of(Image.effect_noise((WIDTH, HEIGHT), 80).convert("RGB"), kind)
        with pytest.raises(PhotoRefused, match="damaged"):
            read_photo(whole[: len(whole) // 2])
    with pytest.raises(PhotoRefused, match="empty"):
        read_photo(b"")


def test_a_damaged_photo_is_refused_though_the_typesetter_allows_half_pictures(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)
    whole = file_of(Image.effect_noise((WIDTH, HEIGHT), 80).convert("RGB"), "JPEG")
    with pytest.raises(PhotoRefused, match="damaged"):
        read_photo(whole[: len(whole) // 2])


def png_that_claims(width: int, height: int) -> bytes:
    """A few dozen bytes whose header promises a huge picture."""
    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")


@pytest.mark.parametrize("size", [(8000, 8000), (12_000, 9_000), (50_000, 50_000)])
def test_a_bomb_is_refused_before_it_is_unpacked(size: tuple[int, ...]) -> None:
    with pytest.raises(PhotoRefused, match="at most 60 megapixels"):
        read_photo(png_that_claims(*size))


def test_a_photo_too_small_to_mark_and_a_file_too_large_are_refused() -> None:
    with pytest.raises(PhotoRefused, match="only 300 by 200 pixels"):
        read_photo(file_of(picture((300, 200))))
    with pytest.raises(PhotoRefused, match="at most 40 MB"):
        read_photo(bytes(40_000_001))


def test_a_thumbnail_is_small_and_as_clean() -> None:
    small = Image.open(io.BytesIO(thumbnail(read_photo(file_of(picture(), exif=exif().tobytes())).jpeg)))
    assert small.size == (320, 240)
    assert not small.getexif()
