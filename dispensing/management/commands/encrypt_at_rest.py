"""``manage.py encrypt_at_rest``: encrypt what is stored by the first key of the settings; ``--new-key`` prints a key.

May be run while people work, broken off and run again: what is encrypted by that key already is left as it is.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from cryptography.fernet import Fernet
from django.apps import apps
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db.models import FileField, Model, TextField, Value
from django.db.models.fields.files import FieldFile
from django.db.models.functions import Concat

from dispensing.at_rest import EncryptedText, NoKeyFits, is_by_first_key, is_on
from dispensing.services.files import encrypt_anew

NO_KEY = "ENCRYPTION_KEYS is not set. Make a key: python3 manage.py encrypt_at_rest --new-key"


class Command(BaseCommand):
    help = "Encrypts stored files, secrets of labs and keys of apps. Exit code 1: something could not be opened."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--new-key", action="store_true", help="print a key for ENCRYPTION_KEYS, and do nothing")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["new_key"]:
            self.stdout.write(Fernet.generate_key().decode())
            return
        if not is_on():
            raise CommandError(NO_KEY)
        done, left = 0, []
        for named, encrypt in _everything():
            try:
                done += encrypt()
            except (NoKeyFits, FileNotFoundError) as fault:
                left.append(f"{named}: {fault}")
        self.stdout.write(f"{done:,} encrypted by the first key.")
        if left:
            raise CommandError("\n".join(["Not encrypted:", *left]))


def _everything() -> Iterator[tuple[str, Any]]:
    """What there is to encrypt, by name, and what encrypts it; that returns whether there was anything to do."""
    for model in apps.get_models():
        for field in model._meta.concrete_fields:
            if isinstance(field, FileField):
                yield from _files(model, field.name)
            elif isinstance(field, EncryptedText):
                yield from _texts(model, field.name)


def _files(model: type[Model], name: str) -> Iterator[tuple[str, Any]]:
    for key in _keys(model):
        row = model._base_manager.filter(pk=key).only(name).first()
        file: FieldFile | None = getattr(row, name, None)
        if file:
            yield f"{model._meta.verbose_name} {key}, {file.name}", lambda file=file: encrypt_anew(file)


def _texts(model: type[Model], name: str) -> Iterator[tuple[str, Any]]:
    for key in _keys(model):
        yield f"{model._meta.verbose_name} {key}", lambda key=key: _text(model, name, key)


def _text(model: type[Model], name: str, key: Any) -> bool:
    row = model._base_manager.filter(pk=key)
    as_stored = row.annotate(as_stored=Concat(name, Value(""), output_field=TextField()))
    if is_by_first_key(as_stored.values_list("as_stored", flat=True).get()):
        return False
    row.update(**{name: row.values_list(name, flat=True).get()})
    return True


def _keys(model: type[Model]) -> Iterator[Any]:
    """Primary keys in their order, a batch at a time."""
    after: Any = None
    while True:
        rows = model._base_manager.all() if after is None else model._base_manager.filter(pk__gt=after)
        batch = list(rows.order_by("pk").values_list("pk", flat=True)[:500])
        if not batch:
            return
        yield from batch
        after = batch[-1]
