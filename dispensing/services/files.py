"""Deleting stored files together with the rows that name them."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial

from django.db import transaction
from django.db.models.fields.files import FieldFile


def delete_after_commit(files: Iterable[FieldFile]) -> None:
    """Deletes the files that exist, once the transaction commits: if it is rolled back, they must still be there."""
    for file in files:
        if file.name:
            transaction.on_commit(partial(file.storage.delete, file.name))
