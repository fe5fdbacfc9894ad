"""Drawings of stored and of half-typed frames, ready for a template."""

from __future__ import annotations

from collections.abc import Mapping

from django.utils.safestring import SafeString, mark_safe

from dispensing.forms.frames import FrameForm
from dispensing.models import Frame, Practice
from dispensing.optics.conventions import Eye
from dispensing.pictures.frame_front import Placed, frame_drawing
from dispensing.services.frame_shapes import lens_shape_of


def picture_of(
    frame: Frame, practice: Practice, *, placed: Mapping[Eye, Placed] | None = None, scale: float = 1.0
) -> SafeString | str:
    """The frame from the front as SVG; empty without A and B, or if no lens can have these sizes."""
    shape = lens_shape_of(frame)
    if shape is None:
        return ""
    sizes = tuple(None if size is None else float(size) for size in (frame.a_mm, frame.b_mm, frame.ed_mm))
    drawing = frame_drawing(
        shape,
        None if frame.dbl_mm is None else float(frame.dbl_mm),
        placed=placed,
        sizes=(sizes[0], sizes[1], sizes[2]),
        assumed=not frame.radii_mm,
        headings=(practice.right_heading, practice.left_heading),
        scale=scale,
    )
    # Written by ElementTree, which escapes every text and attribute.
    return mark_safe(drawing)  # noqa: S308


def picture_of_typed(form: FrameForm) -> SafeString | str:
    """The drawing of what is in the form so far, whether or not it can be saved."""
    if form.is_bound:
        values = {name: form.cleaned_data.get(name) for name in ("a_mm", "b_mm", "dbl_mm", "ed_mm")}
        radii = form.shape.radii_mm if form.shape else None
    else:
        values = {name: form.initial.get(name) for name in ("a_mm", "b_mm", "dbl_mm", "ed_mm")}
        radii = form.initial_radii
    return picture_of(Frame(**values, radii_mm=radii), Practice.current())
