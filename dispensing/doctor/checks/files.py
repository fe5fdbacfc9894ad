"""Where scans and photos lie: health data, so writable by us and out of the web's reach."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings
from django.core.files.base import ContentFile
from django.core.files.storage import FileSystemStorage, default_storage

from dispensing.doctor.registry import Diagnosis, doctor_check, ok, wrong

PROBE = "doctor-was-here"


@doctor_check("files")
def files_are_writable_and_private() -> Iterator[Diagnosis]:
    if not isinstance(default_storage, FileSystemStorage):
        yield _store_answers()
        return
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


def _store_answers() -> Diagnosis:
    """Writes a file into the object store, reads it and deletes it again."""
    try:
        name = default_storage.save(PROBE, ContentFile(PROBE.encode()))
        with default_storage.open(name, "rb") as file:
            came_back = file.read() == PROBE.encode()
        default_storage.delete(name)
    except Exception as fault:  # whatever the store's library raises
        return wrong(
            f"the object store of FILES_STORE cannot be used: {fault}", "Look at its address, keys and rights."
        )
    if not came_back:
        return wrong("the object store gives back other files than it got", "Do not use it; ask who runs it.")
    return ok("the object store takes files, gives them back and deletes them")


def _public_folders() -> list[Path]:
    """Folders whose files anybody may fetch."""
    named = [settings.STATIC_ROOT, getattr(settings, "WHITENOISE_ROOT", None), *settings.STATICFILES_DIRS]
    return [Path(folder).resolve() for folder in named if folder]
