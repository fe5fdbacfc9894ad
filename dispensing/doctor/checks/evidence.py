"""Whether the rows that never change really did not: triggers, the chain of seals, and the heads noted elsewhere."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

from django.conf import settings
from django.utils import timezone

from dispensing.append_only import APPEND_ONLY_TABLES
from dispensing.doctor.registry import Diagnosis, doctor_check, long_check, note, ok, wrong
from dispensing.doctor.walk import Walk
from dispensing.evidence import broken, triggers
from dispensing.evidence.heads import Head, noted
from dispensing.models import Seal

RESTORE = "Somebody went round the database's locks; compare with a backup, and restore what was there."
START_THE_SENDER = "Run: python3 manage.py send_orders --watch, which seals them."
UNSEALED_TOO_LONG, UNSEALED_FAR_TOO_LONG = timedelta(minutes=15), timedelta(days=1)


@doctor_check("append-only")
def nothing_that_stays_can_be_changed() -> Iterator[Diagnosis]:
    found = list(triggers.what_is_wrong())
    for said in found:
        yield wrong(said, "Find out who did that; then load the newest backup whose triggers are all there.")
    if not found:
        yield ok(f"the database itself refuses to change a row of {len(APPEND_ONLY_TABLES)} tables")


@long_check("seals")
def sealed_rows_are_as_they_were(walk: Walk) -> Iterator[Diagnosis]:
    found = 0
    for said in broken.breaks(walk):
        found += 1
        yield wrong(said, RESTORE)
    if not found:
        yield ok(f"{walk.seen(broken.WALK):,} seals hold, and the rows that they are about are as they were")
    yield _tail()


def _tail() -> Diagnosis:
    rows, since = broken.tail()
    age = timezone.now() - since if since else timedelta(0)
    said = f"{rows:,} rows are not sealed yet"
    if since and age > UNSEALED_TOO_LONG:
        say = wrong if age > UNSEALED_FAR_TOO_LONG else note
        return say(f"{said}, the oldest since {timezone.localtime(since):%Y-%m-%d %H:%M}", START_THE_SENDER)
    return ok(said)


@long_check("seals-noted")
def seals_are_those_noted_elsewhere(walk: Walk) -> Iterator[Diagnosis]:
    path, where = Path(settings.SEALS_FILE), f"noted in {settings.SEALS_FILE}"
    known = [(number, sha256, "given with --head") for number, sha256 in walk.heads]
    found = 0
    try:
        known += [(head.number, head.sha256, f"of {_day(head)}, {where},") for head in noted(path)]
    except FileNotFoundError:
        yield note(
            f"no seal is {where} yet", "Run: python3 manage.py send_orders --watch, which notes the newest once a day."
        )
    except (ValueError, OSError) as fault:
        found += 1
        yield wrong(f"{path} cannot be read as seals ({fault})", "Restore the file from where its copies are kept.")
    for number, sha256, from_where in known:
        stored = Seal.objects.filter(number=number).values_list("sha256", flat=True).first()
        if stored != sha256:
            found += 1
            is_now = "is missing" if stored is None else "is another one now"
            yield wrong(f"seal {number} {from_where} {is_now}, so the chain was made anew", RESTORE)
    if known and not found:
        newest = max(number for number, _, _ in known)
        yield ok(f"the seals noted elsewhere are those here: {len(known):,}, the newest number {newest}")


def _day(head: Head) -> str:
    return f"{timezone.localtime(head.at):%Y-%m-%d}"
