"""Reading leaves a trace: whatever shows a patient notes who looked, at whom and from where.

No view has to think of it. Which record an answer shows is told by its address, and ``WHOSE`` says to which patient a
record belongs; the records of a page of an API list are told by the list itself. A page that lists patients is marked
``@lists_patients``. ``tests/access`` opens every address, and fails one that shows a patient and leaves no trace.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterable, Mapping
from typing import Any, TypeVar

from django.db import DatabaseError, models
from django.http import HttpRequest, HttpResponse

from dispensing.models import (
    Fitting,
    FittingPhoto,
    Frame,
    PaperReading,
    Patient,
    PhotoMeasuring,
    Prescription,
    PrescriptionScan,
    Waiting,
    WornPair,
)
from dispensing.origin import present_origin
from dispensing.services.looks import note_look_at_lists, note_looks

log = logging.getLogger("datumline.trace")
View = TypeVar("View", bound=Callable[..., Any])

Whose = tuple[type[models.Model], str]

WHOSE: dict[str, Whose] = {
    "patient_id": (Patient, "pk"),
    "prescription_id": (Prescription, "patient"),
    "scan_id": (PrescriptionScan, "prescription__patient"),
    "waiting_id": (Waiting, "patient"),
    "paper_id": (PaperReading, "patient"),
    "pair_id": (WornPair, "patient"),
    "frame_id": (Frame, "owner"),
    "fitting_id": (Fitting, "patient"),
    "measuring_id": (PhotoMeasuring, "patient"),
    "photo_id": (FittingPhoto, "measuring__patient"),
}
"""By the name of the part of an address: the record that it names, and the way from there to the patient."""


def belongs_to_patients(records: Mapping[str, Whose]) -> None:
    """Add to ``WHOSE`` the records of another app, once, when it starts."""
    WHOSE.update(records)


def lists_patients(view: View) -> View:
    """Marks a page that shows several patients, and little of each."""
    view.lists_patients = True  # type: ignore[attr-defined]  # functions accept it
    return view


def shown_in_list(request: Any, records: Iterable[models.Model]) -> None:
    """Called with the records of a page of an API list, which is answered with everything in them."""
    ways = dict(WHOSE.values())
    keys = {_key_of(row, ways[type(row)]) for row in records if type(row) in ways}
    http = getattr(request, "_request", request)
    http.shown_patients = keys - {None}


class ReadingTraceMiddleware:
    """Notes it once the answer is made. An answer is never lost because it could not be noted."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if _shows_something(request, response):
            try:
                _note(request)
            except DatabaseError as fault:  # A full or read-only disk: reading goes on.
                log.error("A look at a record could not be noted: %s", type(fault).__name__)
        return response


def _shows_something(request: HttpRequest, response: HttpResponse) -> bool:
    """A refusal shows nothing, and a redirect leads to a page that is noted itself; 304 shows what is kept."""
    if not (200 <= response.status_code < 300 or response.status_code == 304):
        return False
    return request.resolver_match is not None and bool(getattr(request, "user", None) and request.user.is_authenticated)


def _note(request: Any) -> None:
    match, origin = request.resolver_match, present_origin()
    if origin is None:
        return
    patients = getattr(request, "shown_patients", None)
    if patients is None:
        patients = _named_in(match.func, match.kwargs)
    if patients is not None:
        note_looks(person=request.user, patients=patients, origin=origin)
    elif getattr(match.func, "lists_patients", False):
        note_look_at_lists(person=request.user, origin=origin)


def _named_in(view: Any, parts: Mapping[str, Any]) -> models.QuerySet[Any, int | None] | None:
    """The patient whom an address names, by itself or by one of their records: the first part that names either."""
    for part, value in parts.items():
        way = WHOSE.get(part) or (_of_view_set(view) if part == "public_id" else None)
        if way is not None:
            model, to_patient = way
            return model._default_manager.filter(public_id=value).values_list(to_patient, flat=True)
    return None


def _of_view_set(view: Any) -> Whose | None:
    rows = getattr(getattr(view, "cls", None), "queryset", None)
    return next((way for way in WHOSE.values() if rows is not None and way[0] is rows.model), None)


def _key_of(row: Any, way: str) -> int | None:
    *between, last = way.split("__")
    for name in between:
        row = getattr(row, name)
    found: int | None = row.pk if last == "pk" else getattr(row, f"{last}_id")
    return found
