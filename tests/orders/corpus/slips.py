"""One slip in a clean order, of the kind that labs call back about and that hand or eye makes.

The classes are those of the survey of lab call-backs (Pacific University, 1992) and the slips that later trade articles
add. A slip names the keys that a good finding would point at; it returns None where the order offers no room for it.
"""

from __future__ import annotations

from random import Random
from typing import Any

from tests.orders.corpus.clean_orders import CleanOrder, frames
from tests.orders.corpus.one_slip import (
    Document,
    apart,
    by_earlier,
    by_earlier_axis,
    by_earlier_or_fellow,
    by_range_or_age,
    by_the_need_of_an_add,
    by_the_sum,
    by_the_use,
    never,
    of_eyes,
    one_eye,
    slip,
)
from tests.orders.corpus.writing import EYES

LEAST_APART_D = 0.5
"""Eyes closer than this can be exchanged without anybody noticing in wear (twice a refraction's repeatability)."""


def _has_add(order: CleanOrder) -> bool:
    return order.document["prescription"]["right"]["add"] is not None


@slip("add", "missing in both eyes", by_the_need_of_an_add)
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    if not _has_add(order):
        return None
    for eye in EYES:
        document["prescription"][eye]["add"] = None
    return of_eyes("prescription.add", "lenses.power")


@slip("add", "missing in one eye")
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    if not _has_add(order):
        return None
    document["prescription"][one_eye(rng)]["add"] = None
    return of_eyes("prescription.add", "lenses.power")


@slip("add", "the near sphere written as the add", by_range_or_age)
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    if not _has_add(order):
        return None
    for eye in EYES:
        part = document["prescription"][eye]
        part["add"] = part["sphere"] + part["add"]
    return of_eyes("prescription.add", "lenses.power")


@slip("PD", "the binocular PD in a monocular box")
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    fitting, eye = document["fitting"], one_eye(rng)
    fitting[eye]["pd_mm"] = fitting["right"]["pd_mm"] + fitting["left"]["pd_mm"]
    return (*of_eyes("fitting.pd_mm"), "fitting.binocular_pd_mm")


@slip("PD", "missing", by_the_use)
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    document["fitting"]["binocular_pd_mm"] = None
    for eye in EYES:
        document["fitting"][eye]["pd_mm"] = None
    return (*of_eyes("fitting.pd_mm"), "fitting.binocular_pd_mm")


@slip("PD", "missing in one eye", by_the_sum)
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    document["fitting"][one_eye(rng)]["pd_mm"] = None
    return (*of_eyes("fitting.pd_mm"), "fitting.binocular_pd_mm")


def _astigmatic(order: CleanOrder) -> list[str]:
    """Eyes whose axis matters: half a dioptre of cylinder or more."""
    eyes = order.document["prescription"]
    return [eye for eye in EYES if abs(eyes[eye]["cylinder"] or 0.0) >= 0.5]


@slip("axis", "digits exchanged", by_earlier_axis)
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    eyes = [(eye, new) for eye in _astigmatic(order) for new in _exchanged(document["prescription"][eye]["axis"])]
    if not eyes:
        return None
    eye, new = rng.choice(eyes)
    document["prescription"][eye]["axis"] = new
    return (f"prescription.{eye}.axis", *of_eyes("prescription.axis"))


def _exchanged(axis: int) -> list[int]:
    """Neighbouring digits exchanged as the axis is written, in two or three figures, where that is an axis."""
    written = {f"{axis:d}", f"{axis:03d}"}
    found = set()
    for text in written:
        for place in range(len(text) - 1):
            swapped = int(text[:place] + text[place + 1] + text[place] + text[place + 2 :])
            turned = abs(swapped - axis) % 180
            if 1 <= swapped <= 180 and min(turned, 180 - turned) >= 5:
                found.add(swapped)
    return sorted(found)


@slip("axis", "turned by 90", by_earlier_axis)
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    eyes = _astigmatic(order)
    if not eyes:
        return None
    part = document["prescription"][rng.choice(eyes)]
    part["axis"] = (part["axis"] + 90) % 180 or 180
    return of_eyes("prescription.axis")


@slip("axis", "left out or zero")
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    eyes = _astigmatic(order)
    if not eyes:
        return None
    document["prescription"][rng.choice(eyes)]["axis"] = rng.choice((None, 0))
    return of_eyes("prescription.axis", "prescription.cylinder")


@slip("sign", "of one sphere", by_earlier_or_fellow)
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    eyes = [eye for eye in EYES if abs(document["prescription"][eye]["sphere"]) >= 0.5]
    if not eyes:
        return None
    document["prescription"][rng.choice(eyes)]["sphere"] *= -1.0
    return of_eyes("prescription.sphere")


@slip("sign", "of both spheres", by_earlier)
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    if any(abs(document["prescription"][eye]["sphere"]) < 0.5 for eye in EYES):
        return None
    for eye in EYES:
        document["prescription"][eye]["sphere"] *= -1.0
    return of_eyes("prescription.sphere")


@slip("frame data", "digits of A exchanged")
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    frame = document["frame"]
    tens, ones = divmod(int(frame["a_mm"]), 10)
    if abs(tens - ones) < 1:
        return None
    frame["a_mm"] = float(10 * ones + tens)
    return ("frame.a_mm", "frame.shape", "frame.ed_mm", "frame.dbl_mm", *of_eyes("fitting.pd_mm"))


@slip("frame data", "a box figure missing")
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    document["frame"][rng.choice(("a_mm", "b_mm", "dbl_mm"))] = None
    return ("frame",)


@slip("frame data", "A and B exchanged")
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    frame = document["frame"]
    if abs(frame["a_mm"] - frame["b_mm"]) < 3.0:
        return None
    frame["a_mm"], frame["b_mm"] = frame["b_mm"], frame["a_mm"]
    return ("frame",)


@slip("tint", "its colour not stated")
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    if not document["lenses"]["right"].get("colour"):
        return None
    for eye in EYES:
        document["lenses"][eye]["colour"] = None
    return of_eyes("lenses.colour", "lenses.treatments")


@slip("eyes", "right and left exchanged in the prescription", by_earlier)
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    prescription = document["prescription"]
    right, left = prescription["right"], prescription["left"]
    if apart(right, left) < LEAST_APART_D:
        return None
    prescription["right"], prescription["left"] = left, right
    return ("prescription",)


@slip("decimal", "a sphere ten times too large or too small")
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    eyes = [eye for eye in EYES if abs(document["prescription"][eye]["sphere"]) >= 0.5]
    if not eyes:
        return None
    part = document["prescription"][rng.choice(eyes)]
    large = part["sphere"] * 10.0
    # A hundred dioptres nobody types: from 2 D on the point slips to the left, 2.50 becomes 0.25.
    part["sphere"] = large if abs(part["sphere"]) < 2.0 else round(part["sphere"] / 10.0, 2)
    return of_eyes("prescription.sphere")


@slip("decimal", "a cylinder ten times too large or too small")
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    eyes = _astigmatic(order)
    if not eyes:
        return None
    part = document["prescription"][rng.choice(eyes)]
    part["cylinder"] = part["cylinder"] * 10.0 if abs(part["cylinder"]) < 1.0 else round(part["cylinder"] / 10.0, 2)
    return of_eyes("prescription.cylinder", "prescription.axis")


@slip("cylinder form", "one eye's cylinder with the other sign")
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    eyes = _astigmatic(order)
    if not eyes:
        return None
    document["prescription"][rng.choice(eyes)]["cylinder"] *= -1.0
    return of_eyes("prescription.cylinder", "prescription.sphere", "prescription.axis")


@slip("cylinder form", "both cylinders with the other sign", by_earlier)
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    eyes = _astigmatic(order)
    if len(eyes) < 2:
        return None
    for eye in eyes:
        document["prescription"][eye]["cylinder"] *= -1.0
    return of_eyes("prescription.cylinder", "prescription.sphere", "prescription.axis")


def _with_heights(document: Document) -> bool:
    return all(document["fitting"][eye]["height_mm"] is not None for eye in EYES)


@slip("height", "missing in a lens that is placed by it")
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    if not _with_heights(document) or order.pair.kind == "single_vision":
        return None
    document["fitting"][one_eye(rng)]["height_mm"] = None
    return of_eyes("fitting.height_mm")


@slip("height", "measured from the top edge or the wrong line: beyond the lens")
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    if not _with_heights(document):
        return None
    part = document["fitting"][one_eye(rng)]
    part["height_mm"] = rng.choice((0.0, document["frame"]["b_mm"] + 1.0, part["height_mm"] * 10.0))
    return of_eyes("fitting.height_mm")


@slip("height", "taken in another frame, which the record knows")
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    if not _with_heights(document):
        return None
    other = rng.choice([frame for frame in frames() if abs(frame["b_mm"] - order.frame["b_mm"]) >= 3])
    for eye in EYES:
        document["fitting"][eye]["height_mm"] += (other["b_mm"] - order.frame["b_mm"]) / 2.0
    document["fitting"]["measured_in_this_frame"] = False
    return (*of_eyes("fitting.height_mm"), "fitting.measured_in_this_frame")


@slip("height", "taken in another frame, which nobody knows", never)
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    if not _with_heights(document):
        return None
    other = rng.choice([frame for frame in frames() if abs(frame["b_mm"] - order.frame["b_mm"]) >= 6])
    for eye in EYES:
        document["fitting"][eye]["height_mm"] += (other["b_mm"] - order.frame["b_mm"]) / 2.0
    return (*of_eyes("fitting.height_mm", "lenses.corridor_mm"), "frame.b_mm")


@slip("wrong frame", "exchanged after the fitting")
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    other = _other_frame(order, rng)
    for key in ("model", "a_mm", "b_mm", "dbl_mm", "ed_mm"):
        document["frame"][key] = other[key]
    document["frame"]["shape"] = None
    document["fitting"]["measured_in_this_frame"] = False
    return ("frame", "fitting.measured_in_this_frame", *of_eyes("fitting.height_mm"))


@slip("wrong frame", "the trace of another frame")
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    if document["frame"]["shape"] is None:
        return None
    document["frame"]["shape"]["radii_mm"] = _other_frame(order, rng)["radii_mm"]
    return ("frame.shape", "frame.a_mm", "frame.b_mm", "frame.ed_mm")


def _other_frame(order: CleanOrder, rng: Random) -> dict[str, Any]:
    """One with a trace whose size is another by at least a millimetre."""
    now = order.frame
    others = [f for f in frames() if f["radii_mm"] and abs(f["a_mm"] - now["a_mm"]) + abs(f["b_mm"] - now["b_mm"]) >= 1]
    return rng.choice(others)
