"""Scans and photos: each is where its row says, and has the content that was stored."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from typing import Any

from django.apps import apps
from django.db.models import FileField, Model
from django.db.models.fields.files import FieldFile

from dispensing.at_rest import NoKeyFits
from dispensing.doctor.registry import Diagnosis, long_check, ok, wrong
from dispensing.doctor.walk import Walk
from dispensing.services.files import opened

RESTORE = "Restore this file from a backup of the data folder."


@long_check("stored-files")
def files_are_what_was_stored(walk: Walk) -> Iterator[Diagnosis]:
    found = seen = 0
    for model, fields in _models_with_files():
        name = model._meta.verbose_name_plural or ""
        for batch in walk.over(str(name), model._base_manager.all()):
            for row in batch:
                for said in _wrong_with(row, fields):
                    found += 1
                    yield wrong(f"{model._meta.verbose_name} {row.pk} {said}", RESTORE)
        seen += walk.seen(str(name))
    if not found:
        yield ok(f"the files of {seen:,} scans and photos are as they were stored")


def _models_with_files() -> Iterator[tuple[type[Model], list[str]]]:
    for model in apps.get_models():
        fields = [field.name for field in model._meta.concrete_fields if isinstance(field, FileField)]
        if fields:
            yield model, fields


def _wrong_with(row: Any, fields: list[str]) -> Iterator[str]:
    for name in fields:
        file: FieldFile = getattr(row, name)
        if not file.name:
            continue  # deleted on purpose, which the trail says
        # A model with a hash has that of its ``file``.
        expected = row.sha256 if name == "file" and hasattr(row, "sha256") else None
        try:
            with opened(file) as content:
                found = hashlib.file_digest(content, "sha256").hexdigest() if expected else None
        except NoKeyFits:
            yield f"cannot be opened: no key in the settings fits {file.name}"
        except FileNotFoundError:
            yield f"has lost its file {file.name}"
        else:
            if found != expected:
                yield f"has another file in {file.name} than was stored"
