"""The one door to stored files (scans, photos): keeping one, opening it, deleting it with the row that names it.

Where they lie, a folder or an object store, is the settings' business (``dispensing/file_stores.py``). Nothing else in
the project reads, writes or deletes a stored file, so whatever must hold for all of them belongs here.
"""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Iterable
from functools import partial
from pathlib import Path
from typing import Any

from django.core.files.base import ContentFile, File
from django.core.files.storage import FileSystemStorage
from django.db import transaction
from django.db.models.fields.files import FieldFile

from dispensing.at_rest import MARK, decrypted, encrypted, is_by_first_key


def keep(file: FieldFile, content: bytes, suffix: str) -> str:
    """Stores the content under a random name, which says nothing of whose it is. The row is the caller's to save.

    Returns the SHA-256 of the content, for the row to keep.
    """
    file.save(f"{uuid.uuid4()}.{suffix}", ContentFile(encrypted(content)), save=False)
    return hashlib.sha256(content).hexdigest()


def opened(file: FieldFile) -> File[Any]:
    """The stored file, to be read from its beginning and closed. Raises FileNotFoundError if there is none any more,
    NoKeyFits if the settings lack the key by which it was encrypted.
    """
    if not file.name:
        raise FileNotFoundError("This file was deleted.")
    stored = file.storage.open(file.name, "rb")
    is_plain = stored.read(len(MARK)) != MARK
    stored.seek(0)
    if is_plain:
        return stored
    with stored:
        return ContentFile(decrypted(stored.read()), file.name)


def was_encrypted(content: File[Any]) -> bool:
    """Whether `opened` had to decrypt it."""
    return isinstance(content, ContentFile)


def encrypt_anew(file: FieldFile) -> bool:
    """Encrypt a stored file by the first key, under the name it has; False if it is already. Raises as `opened`.

    Whoever reads it meanwhile finds it whole, as it was or as it is.
    """
    with file.storage.open(file.name or "", "rb") as stored:
        before = stored.read()
    if is_by_first_key(before):
        return False
    _put(file, encrypted(decrypted(before)))
    return True


def _put(file: FieldFile, content: bytes) -> None:
    name = file.name or ""
    if not isinstance(file.storage, FileSystemStorage):
        with file.storage.open(name, "wb") as stored:  # an object store takes it as a whole when it is closed
            stored.write(content)
        return
    path = Path(file.storage.path(name))
    beside = path.with_name(f".{path.name}.part")
    beside.touch(mode=0o600)
    beside.write_bytes(content)
    beside.replace(path)


def delete_after_commit(files: Iterable[FieldFile]) -> None:
    """Deletes the files that exist, once the transaction commits: if it is rolled back, they must still be there."""
    for file in files:
        if file.name:
            transaction.on_commit(partial(file.storage.delete, file.name))
