"""Slips about what the pair is for and what is made for it: use, basis, PD and power of the wrong distance."""

from __future__ import annotations

from random import Random
from typing import Any

from dispensing.optics.power import SphereCylinder
from dispensing.optics.vertex import at_vertex
from orders.documents.lens_catalogue import LensCatalogue
from tests.orders.corpus import pair_uses
from tests.orders.corpus.clean_orders import CleanOrder
from tests.orders.corpus.one_slip import Document, by_another_pd, by_earlier, of_eyes, one_eye, power, slip
from tests.orders.corpus.writing import EYES

USE = ("use", "prescription.use", *of_eyes("lenses.design", "lenses.power"))
BASIS = ("power_basis", *of_eyes("lenses.power", "fitting.vertex_mm"), "prescription.vertex_mm")
NEAR_PDS = (*of_eyes("fitting.near_pd_mm"), "fitting.near_distance_mm")
FAR_PDS = (*of_eyes("fitting.pd_mm"), "fitting.binocular_pd_mm", "frame.a_mm")

ROUNDED_D = 0.125
"""What rounding to an eighth, there and back, can explain."""


def _power_is_stated(document: Document) -> bool:
    return document["lenses"]["right"].get("power") is not None


def by_power_or_prescription(order: CleanOrder, document: Document) -> bool:
    """A stated power is that of the other distance, or the prescription was for near only.

    Near PDs do not tell: they are measured once for two pairs made from one prescription.
    """
    return _power_is_stated(document) or document["prescription"]["use"] == "near"


def by_power_or_nothing_near(order: CleanOrder, document: Document) -> bool:
    """A stated power is that of the other distance, or the order lacks what near needs: an add, a working distance."""
    no_add = document["prescription"]["right"]["add"] is None
    return _power_is_stated(document) or no_add or document["fitting"]["near_distance_mm"] is None


@slip("use", "a pair for near or intermediate ordered for the distance", by_power_or_prescription)
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    if not order.pair.is_close:
        return None
    document["use"] = "distance"
    return (*USE, *NEAR_PDS)


@slip("use", "a pair for the distance ordered for near", by_power_or_nothing_near)
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    if order.pair.kind != "single_vision" or order.pair.is_close:
        return None
    document["use"] = "near"
    return (*USE, *NEAR_PDS, *of_eyes("prescription.add"))


@slip("use", "left out of a single vision pair from a whole prescription")
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    if order.pair.kind != "single_vision" or not order.pair.is_from_whole_prescription:
        return None
    document["use"] = None
    return USE


@slip("use", "a multifocal ordered for one distance")
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    if order.pair.kind not in ("progressive", "bifocal"):
        return None
    document["use"] = rng.choice(("distance", "near"))
    return USE


def _is_carried(document: Document) -> bool:
    return document.get("power_basis") in ("carried_to_vertex", "as_worn")


def by_more_than(limit: float) -> Any:
    def tells(order: CleanOrder, document: Document) -> bool:
        """The stated powers are off by more than their rounding."""
        right = _right_powers(order, document)
        return any(_off(document["lenses"][eye]["power"], right[eye]) > limit for eye in EYES)

    return tells


def _right_powers(order: CleanOrder, document: Document) -> dict[str, SphereCylinder]:
    """What the powers have to be on the basis that the document states."""
    made = pair_uses.to_be_made(_eyes(order.document), order.pair)
    carry = {"carried_to_vertex": pair_uses.carried, "as_worn": pair_uses.compensated}.get(
        document.get("power_basis") or "", pair_uses.as_is
    )
    return {eye: carry(document, eye, power(made[eye]), order.catalogue) for eye in EYES}


def _eyes(document: Document) -> dict[str, dict[str, Any]]:
    return {eye: document["prescription"][eye] for eye in EYES}


def _off(stated: dict[str, Any], right: SphereCylinder) -> float:
    """The largest difference of a principal power, D."""
    one = power(stated).in_minus_cylinder()
    other = right.in_minus_cylinder()
    return max(abs(one.sphere - other.sphere), abs(one.sphere + one.cylinder - other.sphere - other.cylinder))


@slip("basis", "carried powers sent as prescribed", by_more_than(0.06))
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    if not _is_carried(document):
        return None
    document["power_basis"] = rng.choice((None, "as_prescribed"))
    return BASIS


@slip("basis", "powers as prescribed, sent as carried", by_more_than(ROUNDED_D))
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    if not _is_carried(document):
        return None
    _restate(order, document, pair_uses.as_is)
    return BASIS


@slip("basis", "carried the wrong way", by_more_than(ROUNDED_D))
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    if document.get("power_basis") != "carried_to_vertex":
        return None
    _restate(order, document, _carried_back)
    return BASIS


@slip("basis", "carried twice by the practice", by_more_than(ROUNDED_D))
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    if document.get("power_basis") != "carried_to_vertex":
        return None
    _restate(order, document, _carried_twice)
    return BASIS


@slip("basis", "carried for a lens that the lab compensates as well")
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    design = order.catalogue.design(document["lenses"]["right"]["design"])
    if design is None or not design.compensated:
        return None
    document["power_basis"] = rng.choice(("carried_to_vertex", "as_worn"))
    _restate(order, document, pair_uses.carried)
    return BASIS


@slip("basis", "said to be carried, and no powers stated")
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    if not _is_carried(document):
        return None
    for eye in EYES:
        document["lenses"][eye]["power"] = None
    return BASIS


def _restate(order: CleanOrder, document: Document, carry: pair_uses.Carry) -> None:
    made = pair_uses.to_be_made(_eyes(document), order.pair)
    pair_uses.write_powers(document, made, carry, order.catalogue)


def _carried_back(document: Document, eye: str, power: SphereCylinder, catalogue: LensCatalogue) -> SphereCylinder:
    return at_vertex(power, document["fitting"][eye]["vertex_mm"], document["prescription"]["vertex_mm"])


def _carried_twice(document: Document, eye: str, power: SphereCylinder, catalogue: LensCatalogue) -> SphereCylinder:
    return pair_uses.carried(document, eye, pair_uses.carried(document, eye, power, catalogue), catalogue)


@slip("PD of the wrong distance", "the near PD written as the far one", by_another_pd)
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    for eye in EYES:
        document["fitting"][eye]["pd_mm"] -= 1.5
    return (*FAR_PDS, *of_eyes("fitting.near_pd_mm"))


@slip("PD of the wrong distance", "the far PD written as the near one")
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    fitting = document["fitting"]
    if fitting["right"]["near_pd_mm"] is None:
        return None
    for eye in EYES:
        fitting[eye]["near_pd_mm"] = fitting[eye]["pd_mm"]
    return (*NEAR_PDS, *of_eyes("fitting.pd_mm"))


@slip("PD of the wrong distance", "far and near PD exchanged")
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    fitting = document["fitting"]
    if fitting["right"]["near_pd_mm"] is None:
        return None
    for eye in EYES:
        part = fitting[eye]
        part["pd_mm"], part["near_pd_mm"] = part["near_pd_mm"], part["pd_mm"]
    return (*NEAR_PDS, *FAR_PDS)


def by_earlier_or_other_eye(order: CleanOrder, document: Document) -> bool:
    """What was worn before; without it, eyes that are suddenly three dioptres apart are nobody's."""
    right, left = (power(document["prescription"][eye]) for eye in EYES)
    apart_d = abs(right.mean_sphere - left.mean_sphere)
    return by_earlier(order, document) or apart_d >= 3.0


@slip("near for far", "the power for near written as the one for the distance, the add kept", by_earlier)
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    if not order.pair.is_from_whole_prescription:
        return None
    for eye in EYES:
        document["prescription"][eye]["sphere"] += document["prescription"][eye]["add"]
    return of_eyes("prescription.sphere", "prescription.add")


@slip("near for far", "the same in one eye", by_earlier_or_other_eye)
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    if not order.pair.is_from_whole_prescription:
        return None
    part = document["prescription"][one_eye(rng)]
    part["sphere"] += part["add"]
    return of_eyes("prescription.sphere", "prescription.add")


@slip("near for far", "a pair for near made in the power for the distance")
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    if not (order.pair.is_close and order.pair.is_from_whole_prescription):
        return None
    pair_uses.write_powers(document, _eyes(document), pair_uses.as_is, order.catalogue)
    document["power_basis"] = "as_prescribed"
    return BASIS


@slip("near for far", "a multifocal or a pair for the distance made in the power for near")
def _(order: CleanOrder, document: Document, rng: Random) -> tuple[str, ...] | None:
    if order.pair.is_close or not order.pair.is_from_whole_prescription:
        return None
    near = {eye: {**part, "sphere": part["sphere"] + part["add"]} for eye, part in _eyes(document).items()}
    pair_uses.write_powers(document, near, pair_uses.as_is, order.catalogue)
    document["power_basis"] = "as_prescribed"
    return BASIS
