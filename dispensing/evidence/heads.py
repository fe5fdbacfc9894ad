"""Notes the newest seal outside the database, once a day: in a file, and by mail to whoever the settings name.

A chain proves nothing against somebody who owns the database and makes all of it anew; a hash that they cannot reach
does. A head is one line: the time, the number of the seal, its hash.
"""

from __future__ import annotations

import logging
import os
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.core.mail import send_mail

from dispensing.models import Practice, Seal

log = logging.getLogger("datumline.evidence")
A_DAY = timedelta(days=1)


@dataclass(frozen=True)
class Head:
    """A seal as it was noted somewhere; ``at``: when it was made."""

    at: datetime
    number: int
    sha256: str

    @classmethod
    def read(cls, line: str) -> Head:
        """Raises `ValueError` for any other line."""
        at, number, sha256 = line.split()
        return cls(datetime.fromisoformat(at), int(number), sha256)

    def __str__(self) -> str:
        return f"{self.at.isoformat()} {self.number} {self.sha256}"


def newest() -> Head | None:
    seal = Seal.objects.order_by("-number").first()
    return Head(seal.sealed_at, seal.number, seal.sha256) if seal else None


def noted(path: Path) -> Iterator[Head]:
    """The heads in the file, the oldest first. Raises `ValueError` for a line that is none, `OSError`."""
    with path.open() as lines:
        yield from (Head.read(line) for line in lines if line.strip())


def note_in_file(head: Head) -> None:
    """Append the head. Raises `OSError`."""
    path = Path(settings.SEALS_FILE)
    with open(os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600), "a") as file:
        file.write(f"{head}\n")
        file.flush()
        os.fsync(file.fileno())


def mail(head: Head) -> None:
    """To everybody who is named in the settings. Raises what the mail server's connection raises."""
    if settings.SEALS_MAILED_TO:
        send_mail(f"Seal {head.number} of {Practice.current().name}", _letter(head), None, settings.SEALS_MAILED_TO)


def _letter(head: Head) -> str:
    return (
        f"The newest seal of the records that never change:\n\n{head}\n\nKeep this mail. Whoever wants to know later"
        f" that nothing was changed up to then runs\n\n"
        f"python3 manage.py doctor --head {head.number}:{head.sha256}\n"
    )


def noted_within_a_day(now: datetime) -> bool:
    """By the file's own time, so that a sender that is started every minute does not write every minute."""
    path = Path(settings.SEALS_FILE)
    return path.exists() and now.timestamp() - path.stat().st_mtime < A_DAY.total_seconds()


def note(head: Head) -> None:
    """In every way that the settings name; one that fails is logged, and stops no other."""
    for way, by_way in (("file", note_in_file), ("mail", mail)):
        try:
            by_way(head)
        except OSError as fault:  # smtplib's errors are OSErrors
            log.warning("The newest seal could not be noted by %s: %s", way, fault)
