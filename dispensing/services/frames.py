"""Adding and correcting frames, each change on the audit trail."""

from __future__ import annotations

from typing import Any

from django.db import transaction

from dispensing.models import Frame, Patient, StaffUser
from dispensing.services.audit import differing, in_words, record
from dispensing.services.frame_shapes import FrameShape
from dispensing.services.meanwhile import require_version, save_next_version

# The audit trail describes a shape by its size, not by 400 radii.
_LONG_FIELDS = {"radii_mm"}


def add_frame(
    *, actor: StaffUser, fields: dict[str, Any], shape: FrameShape | None = None, owner: Patient | None = None
) -> Frame:
    """Adds a stock frame, or a patient's own if ``owner`` is given."""
    frame = Frame(owner=owner, **fields, **_shape_fields(shape))
    frame.full_clean()
    with transaction.atomic():
        frame.save()
        record(actor=actor, verb="frame.add", target=frame, patient=owner, changes={"frame": [None, str(frame)]})
    return frame


def change_frame(
    *,
    actor: StaffUser,
    frame: Frame,
    fields: dict[str, Any],
    shape: FrameShape | None,
    keep_shape: bool = False,
    version: int | None = None,
) -> Frame:
    """Writes only the fields that differ; ``keep_shape`` leaves the shape as it is.

    ``version``: the one the change is based on. Raises ValidationError, ChangedMeanwhile.
    """
    wanted = dict(fields) if keep_shape else {**fields, **_shape_fields(shape)}
    with transaction.atomic():
        frame = Frame.objects.select_for_update(of=("self",)).select_related("owner").get(pk=frame.pk)
        changes = differing({name: getattr(frame, name) for name in wanted}, wanted)
        require_version(frame, version, changes)
        if not changes:
            return frame
        for name in changes:
            setattr(frame, name, wanted[name])
        frame.full_clean()
        save_next_version(frame, [*changes, "changed_at"])
        told = in_words({name: _told(name, pair) for name, pair in changes.items()})
        record(actor=actor, verb="frame.change", target=frame, patient=frame.owner, changes=told)
    return frame


def _shape_fields(shape: FrameShape | None) -> dict[str, Any]:
    if shape is None:
        return {"radii_mm": None, "shape_origin": ""}
    return {"radii_mm": shape.radii_mm, "shape_origin": shape.origin}


def _told(name: str, pair: tuple[Any, Any]) -> tuple[Any, Any]:
    if name not in _LONG_FIELDS:
        return pair
    before, after = (f"{len(radii)} radii" if radii else None for radii in pair)
    return before, after
