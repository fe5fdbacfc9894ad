"""Adding and correcting frames, each change on the audit trail."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import transaction

from dispensing.models import Frame, Patient, StaffUser
from dispensing.services.audit import changed_fields, record
from dispensing.services.frame_shapes import FrameShape

# A shape is told by its size on the audit trail, not by 400 radii.
_LONG_FIELDS = {"radii_mm"}


def add_frame(
    *, actor: StaffUser, fields: dict[str, Any], shape: FrameShape | None = None, owner: Patient | None = None
) -> Frame:
    """A frame of the stock, or a patient's own when ``owner`` is given."""
    frame = Frame(owner=owner, **fields, **_shape_fields(shape))
    frame.full_clean()
    with transaction.atomic():
        frame.save()
        record(actor=actor, verb="frame.add", target=frame, patient=owner, changes={"frame": [None, str(frame)]})
    return frame


class FrameChanged(Exception):
    """Somebody else changed the frame after it was shown. ``frame``: as it is now."""

    def __init__(self, frame: Frame):
        self.frame = frame
        super().__init__(f"{frame} was changed meanwhile.")


def change_frame(
    *,
    actor: StaffUser,
    frame: Frame,
    fields: dict[str, Any],
    shape: FrameShape | None,
    keep_shape: bool = False,
    seen: datetime | None = None,
) -> Frame:
    """Writes only the fields that differ; ``keep_shape`` leaves the shape as it is.

    ``seen``: the ``changed_at`` of the frame the person looked at; raises FrameChanged when it is newer by now.
    """
    wanted = dict(fields) if keep_shape else {**fields, **_shape_fields(shape)}
    with transaction.atomic():
        frame = Frame.objects.select_for_update(of=("self",)).select_related("owner").get(pk=frame.pk)
        if seen is not None and frame.changed_at != seen:
            raise FrameChanged(frame)
        before = {name: getattr(frame, name) for name in wanted}
        changes = changed_fields(before, wanted)
        if not changes:
            return frame
        for name in changes:
            setattr(frame, name, wanted[name])
        frame.full_clean()
        frame.save(update_fields=[*changes, "changed_at"])
        told = {name: _told(name, before[name], wanted[name], pair) for name, pair in changes.items()}
        record(actor=actor, verb="frame.change", target=frame, patient=frame.owner, changes=told)
    return frame


def _shape_fields(shape: FrameShape | None) -> dict[str, Any]:
    if shape is None:
        return {"radii_mm": None, "shape_origin": ""}
    return {"radii_mm": shape.radii_mm, "shape_origin": shape.origin}


def _told(name: str, before: Any, after: Any, pair: list[str | None]) -> list[str | None]:
    if name not in _LONG_FIELDS:
        return pair
    return [f"{len(radii)} radii" if radii else None for radii in (before, after)]
