"""Scans and photos: each is where its row says, and has the content that was stored."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterator
from typing import Any

from django.apps import apps
from django.db.models import FileField, Model
from django.db.models.fields.files import FieldFile

from dispensing.at_rest import NoKeyFits, is_on
from dispensing.doctor.registry import Diagnosis, long_check, note, ok, wrong
from dispensing.doctor.walk import Walk
from dispensing.services.files import opened, was_encrypted

ENCRYPT = "Run: python3 manage.py encrypt_at_rest"
RESTORE = "Restore this file from a backup of the data folder."


@long_check("stored-files")
def files_are_what_was_stored(walk: Walk) -> Iterator[Diagnosis]:
    counted: Counter[str] = Counter()
    for model, fields in _models_with_files():
        name = str(model._meta.verbose_name_plural)
        for batch in walk.over(name, model._base_manager.all()):
            for row in batch:
                for said in _wrong_with(row, fields, counted):
                    counted["wrong"] += 1
                    yield wrong(f"{model._meta.verbose_name} {row.pk} {said}", RESTORE)
        counted["rows"] += walk.seen(name)
    if is_on() and counted["plain"]:
        yield note(f"files that are not encrypted yet: {counted['plain']:,}", ENCRYPT)
    if not counted["wrong"]:
        yield ok(f"the files of {counted['rows']:,} scans and photos are as they were stored")


def _models_with_files() -> Iterator[tuple[type[Model], list[str]]]:
    for model in apps.get_models():
        fields = [field.name for field in model._meta.concrete_fields if isinstance(field, FileField)]
        if fields:
            yield model, fields


def _wrong_with(row: Any, fields: list[str], counted: Counter[str]) -> Iterator[str]:
    """What is wrong with the files of a row; counts those that are not encrypted."""
    for name in fields:
        file: FieldFile = getattr(row, name)
        if not file.name:
            continue  # deleted on purpose, which the trail says
        # A model with a hash has that of its ``file``.
        expected = row.sha256 if name == "file" and hasattr(row, "sha256") else None
        try:
            with opened(file) as content:
                found = hashlib.file_digest(content, "sha256").hexdigest() if expected else None
                counted["plain"] += not was_encrypted(content)
        except NoKeyFits:
            yield f"cannot be opened: no key in the settings fits {file.name}"
        except FileNotFoundError:
            yield f"has lost its file {file.name}"
        else:
            if found != expected:
                yield f"has another file in {file.name} than was stored"
