"""Rows that point at rows which are not there, or an entry of the audit trail at a record; and SQLite's own look."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any
from uuid import UUID

from django.apps import apps
from django.db import connection
from django.db.models import Exists, ForeignKey, Model, OuterRef

from dispensing.doctor.registry import Diagnosis, doctor_check, long_check, ok, wrong
from dispensing.doctor.walk import Walk
from dispensing.models import AuditEvent

RESTORE = "Somebody or something went round the database; restore what is missing from a backup."
# Records that no service ever deletes; of others the trail says that they were.
NEVER_DELETED = ("patient", "prescription", "fitting", "frame", "order", "lab", "finishedreading")
WALK = "audit-targets"
FEW = 20


@doctor_check("references")
def nothing_points_into_the_void() -> Iterator[Diagnosis]:
    found = [*_damage(), *(said for model in apps.get_models() for said in _dangling(model))]
    for said in found:
        yield wrong(said, RESTORE)
    if not found:
        yield ok("no row points at one that is not there")


def _damage() -> Iterator[str]:
    """What SQLite itself finds wrong with its file."""
    if connection.vendor != "sqlite":
        return
    with connection.cursor() as cursor:
        cursor.execute(f"PRAGMA integrity_check({FEW})")
        yield from (f"SQLite finds its file damaged: {said}" for (said,) in cursor.fetchall() if said != "ok")


def _dangling(model: type[Model]) -> Iterator[str]:
    """Asked as a question of ours, and not by ``foreign_key_check``: PostgreSQL has none, and this names the rows."""
    for field in model._meta.concrete_fields:
        if not isinstance(field, ForeignKey) or not getattr(field, "db_constraint", True):
            continue
        target: type[Model] = field.related_model
        there = target._base_manager.filter(**{field.target_field.attname: OuterRef(field.attname)})
        lost = model._base_manager.filter(~Exists(there), **{f"{field.attname}__isnull": False}).order_by("pk")
        for key in lost.values_list("pk", flat=True)[:FEW]:
            yield f"{model._meta.verbose_name} {key} points at a {target._meta.verbose_name} that is not there"


@long_check(WALK)
def records_of_the_trail_are_there(walk: Walk) -> Iterator[Diagnosis]:
    rows = AuditEvent.objects.filter(record__in=NEVER_DELETED, record_id__isnull=False)
    rows = rows if walk.since is None else rows.filter(at__gte=walk.since)
    found = 0
    for batch in walk.over(WALK, rows.values("pk", "record", "record_id", "verb")):
        for row in _without_a_record(batch):
            found += 1
            said = f"the {row['record']} of audit event {row['pk']} ({row['verb']}) is missing"
            yield wrong(said, RESTORE)
    if not found:
        yield ok(f"the records of {walk.seen(WALK):,} entries of the audit trail are there")


def _without_a_record(batch: list[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    there: set[tuple[str, UUID]] = set()
    for model in apps.get_models():
        noun = model._meta.model_name or ""
        asked = {row["record_id"] for row in batch if row["record"] == noun}
        if asked and noun in NEVER_DELETED:
            kept = model._base_manager.filter(public_id__in=asked).values_list("public_id", flat=True)
            there.update((noun, key) for key in kept)
    yield from (row for row in batch if (row["record"], row["record_id"]) not in there)
