"""The one way in which a list leaves as a file: for those who may, streamed, and noted on the audit trail."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import StreamingHttpResponse

from dispensing.access import can
from dispensing.models import Patient
from dispensing.roles import Ability
from dispensing.services.lists_out import note_list_out
from dispensing.spreadsheets import csv_lines
from dispensing.views.requests import StaffRequest


def taken_out(
    request: StaffRequest,
    name: str,
    heads: Sequence[str],
    rows: Iterable[Sequence[Any]],
    *,
    asked: Mapping[str, str] | None = None,
    patient: Patient | None = None,
) -> StreamingHttpResponse:
    """``rows`` as ``name``.csv; they are fetched while the file leaves. ``asked`` and ``patient``: as `note_list_out`.

    Raises `PermissionDenied` if the person's role may not take lists out.
    """
    if not can(request.user, Ability.LIST_TAKE_OUT):
        raise PermissionDenied
    note_list_out(actor=request.user, name=name, asked=asked, patient=patient)
    return StreamingHttpResponse(
        csv_lines(heads, rows),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}.csv"', "Cache-Control": "private, no-store"},
    )
