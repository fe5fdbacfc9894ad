"""Answering with a stored file: to this person only, kept by no browser, and never taken for another type."""

from __future__ import annotations

import uuid

from django.db.models.fields.files import FieldFile
from django.http import FileResponse, Http404

from dispensing.at_rest import NoKeyFits
from dispensing.outages import FILE_MISSING
from dispensing.services.files import opened


class FileGone(Http404):
    """The record is there and its file is not; the message is for people."""


def private_file(file: FieldFile, name: str, kind: str = "image/jpeg", *, download: bool = False) -> FileResponse:
    """``kind``: the content type. Raises FileGone for a file that was deleted or lost, or that no key opens."""
    try:
        content = opened(file)
    except FileNotFoundError:
        raise FileGone(FILE_MISSING.said if file.name else "This file was deleted.") from None
    except NoKeyFits:
        raise FileGone(
            "This file cannot be opened: the key by which it was encrypted is not in the settings."
        ) from None
    response = FileResponse(content, content_type=kind, as_attachment=download, filename=name)
    response["X-Content-Type-Options"] = "nosniff"
    response["Cache-Control"] = "private, no-store"
    return response


def private_scan(file: FieldFile, public_id: uuid.UUID, kind: str) -> FileResponse:
    """A picture is shown; a PDF, which may contain anything, is only downloaded. The browser never keeps either."""
    is_picture = kind == "image/jpeg"
    name = f"prescription-{public_id}.{'jpg' if is_picture else 'pdf'}"
    return private_file(file, name, kind, download=not is_picture)
