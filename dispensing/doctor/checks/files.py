"""The folder of scans and photos: health data, so writable by us and out of the web's reach."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings

from dispensing.doctor.registry import Diagnosis, doctor_check, ok, wrong


@doctor_check("files")
def files_are_writable_and_private() -> Iterator[Diagnosis]:
    folder = Path(settings.MEDIA_ROOT).resolve()
    existing = next(place for place in (folder, *folder.parents) if place.exists())
    if os.access(existing, os.W_OK | os.X_OK):
        yield ok(f"{folder} can be written to")
    else:
        yield wrong(f"{folder} cannot be written to", f"Give this user the right to write in {existing}.")
    for public in _public_folders():
        if folder == public or public in folder.parents or folder in public.parents:
            yield wrong(
                f"scans in {folder} and public files in {public} lie within each other",
                "Set DATUMLINE_DATA_DIR to a folder apart from it.",
            )


def _public_folders() -> list[Path]:
    """Folders whose files anybody may fetch."""
    named = [settings.STATIC_ROOT, getattr(settings, "WHITENOISE_ROOT", None), *settings.STATICFILES_DIRS]
    return [Path(folder).resolve() for folder in named if folder]
