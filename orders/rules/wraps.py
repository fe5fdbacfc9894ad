"""Which fronts are wrapped round the face: by their curve, or by how far they are turned.

This module must never judge a lens.
"""

from __future__ import annotations

from dispensing.trade import Limits, figure
from dispensing.trade.position_of_wear import wrap_face_form_deg
from orders.documents.lens_order import FramePart, LensOrder
from orders.rules.compare import above, at_least


def front_curve_d(frame: FramePart) -> float | None:
    """The front's curve in D; None also for one that was mistyped, which is questioned elsewhere."""
    curve = frame.front_curve_d
    return None if curve is None or above(curve, figure("typed-frame", "curve_most_d")) else curve


def has_wrap_curve(frame: FramePart, limits: Limits) -> bool:
    """Whether the front is as steep as a wrap's."""
    curve = front_curve_d(frame)
    return curve is not None and at_least(curve, limits.of("wrap-base", "frame_curve_d"))


def is_turned_like_a_wrap(order: LensOrder, limits: Limits) -> bool:
    """Whether the front is turned as far as a wrap's."""
    angle = order.fitting.face_form_deg
    return angle is not None and at_least(angle, wrap_face_form_deg(limits)[0])


def is_wrap(order: LensOrder, limits: Limits) -> bool:
    """Whether the front is a wrap: by either sign of it."""
    return has_wrap_curve(order.frame, limits) or is_turned_like_a_wrap(order, limits)
