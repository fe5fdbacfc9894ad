"""Noting who looked at which patient: a visit is one row, begun on the audit trail and then only counted on."""

from __future__ import annotations

from collections.abc import Collection
from datetime import timedelta
from typing import Any

from django.db import connection, transaction
from django.db.models import F, Func, QuerySet, TextField, Value
from django.db.models.lookups import Exact
from django.utils import timezone

from dispensing.models import Look, Patient, StaffUser
from dispensing.origin import Origin
from dispensing.services.audit import record

VISIT = timedelta(minutes=30)
"""After so long without a look the next one begins another visit: common practice where visits are counted."""


def note_looks(*, person: StaffUser, patients: Collection[int] | QuerySet[Any, int | None], origin: Origin) -> None:
    """Note that ``person`` was shown these patients: their primary keys, or a query that gives at most one of them.

    One question to the database, but for the first page of a visit.
    """
    visits = _going_on(person, origin).filter(patient__in=patients)
    counted = _count_on(visits)
    if counted and isinstance(patients, QuerySet):
        return
    keys = {key for key in patients if key is not None}
    if counted < len(keys):
        _begin(visits, person, {key: Patient(pk=key) for key in keys}, origin)


def note_look_at_lists(*, person: StaffUser, origin: Origin) -> None:
    """Note that ``person`` was shown a list of patients."""
    visits = _going_on(person, origin).filter(patient__isnull=True)
    if not _count_on(visits):
        _begin(visits, person, {None: None}, origin)


def _going_on(person: StaffUser, origin: Origin) -> QuerySet[Look]:
    since = timezone.now() - VISIT
    return Look.objects.filter(person=person, address=origin.address, token=origin.token, last_at__gte=since)


def _count_on(visits: QuerySet[Look]) -> int:
    """How many visits went on. A page does not wait until the disk has the count, which a power cut may cost a look."""
    if connection.vendor == "postgresql" and not connection.in_atomic_block:
        # For the transaction of this one statement, said within it: nothing else may be left unsafe.
        visits = visits.filter(Exact(_SetLocal("synchronous_commit", "off"), Value("off")))
    return visits.update(count=F("count") + 1, last_at=timezone.now())


class _SetLocal(Func):
    function = "set_config"
    output_field = TextField()

    def __init__(self, name: str, value: str):
        super().__init__(Value(name), Value(value), Value(True))


@transaction.atomic
def _begin(
    visits: QuerySet[Look], person: StaffUser, patients: dict[int, Patient] | dict[None, None], origin: Origin
) -> None:
    # Two pages of one visit may come at the same time: the second waits here and finds the visit begun.
    StaffUser.objects.select_for_update(no_key=True).get(pk=person.pk)
    begun = set(visits.values_list("patient", flat=True))
    for key, patient in patients.items():
        if key in begun:
            continue
        event = record(actor=person, verb="patient.look" if patient else "patient.list", patient=patient)
        Look.objects.create(
            event=event,
            person=person,
            patient=patient,
            address=origin.address,
            token=origin.token,
            last_at=event.at,
        )
