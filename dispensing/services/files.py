"""The one door to stored files (scans, photos): keeping one, opening it, deleting it with the row that names it.

Where they lie, a folder or an object store, is the settings' business (``dispensing/file_stores.py``). Nothing else in
the project reads, writes or deletes a stored file, so whatever must hold for all of them belongs here.
"""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Iterable
from functools import partial
from typing import Any

from django.core.files.base import ContentFile, File
from django.db import transaction
from django.db.models.fields.files import FieldFile


def keep(file: FieldFile, content: bytes, suffix: str) -> str:
    """Stores the content under a random name, which says nothing of whose it is. The row is the caller's to save.

    Returns the SHA-256 of the content, for the row to keep.
    """
    file.save(f"{uuid.uuid4()}.{suffix}", ContentFile(content), save=False)
    return hashlib.sha256(content).hexdigest()


def opened(file: FieldFile) -> File[Any]:
    """The stored file, to be read from its beginning and closed. Raises FileNotFoundError if there is none any more."""
    if not file.name:
        raise FileNotFoundError("This file was deleted.")
    return file.storage.open(file.name, "rb")


def delete_after_commit(files: Iterable[FieldFile]) -> None:
    """Deletes the files that exist, once the transaction commits: if it is rolled back, they must still be there."""
    for file in files:
        if file.name:
            transaction.on_commit(partial(file.storage.delete, file.name))
