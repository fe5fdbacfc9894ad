"""What lies on the disk: readable by this program's own user alone, and encrypted if the practice wants that."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice
from pathlib import Path

from django.conf import settings

from dispensing.at_rest import is_on
from dispensing.doctor.registry import Diagnosis, doctor_check, note, ok, wrong
from dispensing.private import open_to_others

FEW = 50
ENCRYPTED = "scans, photos, the secrets of labs and the keys of authenticator apps"
MAKE_A_KEY = "Set ENCRYPTION_KEYS, with a key of python3 manage.py encrypt_at_rest --new-key."


@doctor_check("at-rest")
def nobody_else_reads_the_disk() -> Iterator[Diagnosis]:
    found = list(open_to_others(*_places()))
    for path in found:
        yield wrong(f"others on this machine may get into {path}", f"Run: chmod -R go= {path}")
    if not found:
        yield ok("what this program writes, its own user alone may read")
    if is_on():
        yield ok(f"{ENCRYPTED} are encrypted where they are kept")
    elif settings.PRODUCTION:
        yield note(f"{ENCRYPTED} are not encrypted where they are kept", MAKE_A_KEY)


def _places() -> Iterator[Path]:
    data = Path(settings.DATA_DIR)
    yield from (data, data / "secret-key", data / "datumline.sqlite3", Path(settings.SEALS_FILE))
    for folder in (settings.MEDIA_ROOT, settings.FILE_UPLOAD_TEMP_DIR, settings.LABS_FOLDER, settings.EMAIL_FILE_PATH):
        path = Path(folder)
        yield path
        yield from islice(path.iterdir(), FEW) if path.is_dir() else ()
