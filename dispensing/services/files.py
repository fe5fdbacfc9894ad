"""Deleting stored files together with the rows that named them."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial

from django.db import transaction
from django.db.models.fields.files import FieldFile


def delete_after_commit(files: Iterable[FieldFile]) -> None:
    """Deletes those that are there once the transaction holds: one that is undone must find them where they were."""
    for file in files:
        if file.name:
            transaction.on_commit(partial(file.storage.delete, file.name))
