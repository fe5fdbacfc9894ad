"""Clean orders, as a careful dispenser writes them: a lens that suits, a frame that fits, everything measured.

Made from the demo's frames and catalogues. Nothing here asks the rules whether an order is clean: what the check then
says about it is the figure to report.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

from orders.documents.lens_catalogue import Design, LensCatalogue, Material, parse_catalogue
from tests.orders.corpus import pair_uses
from tests.orders.corpus.pair_uses import Pair
from tests.orders.corpus.wearers import Wearer, in_plus_form, wearer
from tests.orders.corpus.worn_pairs import present_spectacles
from tests.orders.corpus.writing import EYES, TODAY

DEMO = Path(__file__).parents[3] / "fixtures" / "demo"
NEAR_MM = 2.0
"""What each eye turns in to read, as a dispenser reckons when choosing a frame for a near pair."""

PLUS_FORM_SHARE = 0.1
"""The share of prescriptions written with plus cylinders."""


@dataclass(frozen=True)
class CleanOrder:
    """An order document and what a slip may need of where it came from.

    worn_for: what the pair worn now is for in truth, whatever the order says of it; None if nobody read it.
    """

    document: dict[str, Any]
    catalogue: LensCatalogue
    wearer: Wearer
    frame: dict[str, Any]
    pair: Pair
    worn_for: str | None

    def copy(self) -> dict[str, Any]:
        return copy.deepcopy(self.document)


TINT_TO_ORDER = "tint-to-order"


@cache
def catalogues() -> tuple[LensCatalogue, ...]:
    return tuple(
        _with_tint_to_order(parse_catalogue(path.read_text())) for path in sorted(DEMO.glob("catalogue-*.json"))
    )


def _with_tint_to_order(catalogue: LensCatalogue) -> LensCatalogue:
    """The lab's own tints say colour and depth by their names; one made to order says neither."""
    tint = next(treatment for treatment in catalogue.treatments if treatment.kind == "tint")
    to_order = tint.model_copy(update={"id": TINT_TO_ORDER, "name": "Tint to order", "luminous_transmittance": None})
    return catalogue.model_copy(update={"treatments": (*catalogue.treatments, to_order)})


@cache
def frames() -> tuple[dict[str, Any], ...]:
    return tuple(json.loads((DEMO / "frames.json").read_text()))


def clean_orders(seed: int, count: int) -> Iterator[CleanOrder]:
    rng = Random(seed)
    made = 0
    while made < count:
        order = _order(rng, made)
        if order is not None:
            made += 1
            yield order


def _order(rng: Random, number: int) -> CleanOrder | None:
    """None where this wearer finds no frame or lens here, and leaves without ordering."""
    person, catalogue = wearer(rng), rng.choice(catalogues())
    pair = pair_uses.pair(rng, person)
    frame = _frame(rng, person, pair)
    if frame is None:
        return None
    eyes, previous = pair_uses.prescribed(person, pair), pair_uses.prescribed_before(person, pair)
    if rng.random() < PLUS_FORM_SHARE:
        eyes = {side: in_plus_form(eye) for side, eye in eyes.items()}
    made = pair_uses.to_be_made(eyes, pair)
    design = _design(rng, catalogue, pair.kind, made)
    if design is None:
        return None
    heights = _heights(rng, pair.kind, frame, made)
    lens = _lens(rng, catalogue, design, person, frame, pair, made, heights)
    if lens is None:
        return None
    sun = lens.pop("_sun", False)
    worn, worn_for = present_spectacles(rng, person, pair.written)
    document: dict[str, Any] = {
        "format": "lens-order/1",
        "number": f"C-{number:05d}",
        "revision": 1,
        "purpose": "new",
        "ordered_on": TODAY.isoformat(),
        "needed_on": (TODAY + timedelta(days=rng.randint(15, 24))).isoformat(),
        "use": pair.use,
        "practice": {"name": "Corpus Practice", "account": "77", "country": "GB"},
        "lab": {"name": catalogue.lab},
        "patient": _patient(rng, person, number, worn),
        "prescription": _prescription(rng, person, eyes, pair.written, months_ago=0),
        "previous_prescription": previous
        and _prescription(rng, person, previous, pair.written, months_ago=rng.randint(11, 36)),
        "frame": _frame_part(rng, frame),
        "fitting": _fitting(rng, person, pair, made, heights),
        "lenses": {eye: copy.deepcopy(lens) for eye in EYES},
        "other_pair": _other_pair(rng, pair, is_for_sun=sun),
        "supply": "fitted",
        "remarks": "",
    }
    _route(rng, document)
    pair_uses.state_powers(rng, document, made, catalogue)
    if not all(_makes(design, made[eye] | (document["lenses"][eye].get("power") or {})) for eye in EYES):
        return None
    if person.age < 16:
        document["ordered_by"] = {"name": "R. Optician", "registration": "D-10001"}
    return CleanOrder(document, catalogue, person, frame, pair, worn_for)


def _other_pair(rng: Random, pair: Pair, *, is_for_sun: bool) -> bool | None:
    """Whoever sells a pair for the sun or for close work asks what is worn to drive."""
    if is_for_sun or pair.kind == "office" or pair.is_close:
        return True
    return rng.choice((True, True, False, None))


def _strength(eyes: dict[str, Any]) -> float:
    return float(max(abs(eye["sphere"] + (eye["cylinder"] or 0.0) / 2.0) for eye in eyes.values()))


def _frame(rng: Random, person: Wearer, pair: Pair) -> dict[str, Any] | None:
    """One of the shop's frames whose centres lie near the wearer's eyes, deep enough for the lens."""
    kind, strong = pair.kind, _strength(person.eyes) > 4.5
    least_b = {"progressive": 32, "office": 32, "bifocal": 33}.get(kind, 25)
    most = (2.5 if strong else 3.5) - (NEAR_MM if pair.is_close else 0.0)
    fitting = [
        frame
        for frame in frames()
        if frame["b_mm"] >= least_b
        and all(0.0 <= frame_pd(frame) / 2.0 - own <= most for own in person.pd.values())
        and frame["front_curve_d"] < 7.0
        and (frame["mount"] == "full_rim" or not strong)
        and (frame.get("family") != "pilot" or kind == "single_vision")
    ]
    return rng.choice(fitting) if fitting else None


def frame_pd(frame: dict[str, Any]) -> float:
    return float(frame["a_mm"] + frame["dbl_mm"])


def _frame_part(rng: Random, frame: dict[str, Any]) -> dict[str, Any]:
    keys = ("model", "mount", "a_mm", "b_mm", "dbl_mm", "ed_mm", "front_curve_d")
    part = {key: frame[key] for key in keys}
    traced = frame["radii_mm"] and rng.random() < 0.7
    part["shape"] = {"side": "right", "radii_mm": frame["radii_mm"]} if traced else None
    return part


def _design(rng: Random, catalogue: LensCatalogue, kind: str, eyes: dict[str, Any]) -> Design | None:
    wrapped = "wrap"
    suiting = [
        design
        for design in catalogue.designs
        if design.kind == kind
        and wrapped not in design.name.casefold()
        and all(_makes(design, e) for e in eyes.values())
    ]
    if kind == "progressive" and _strength(eyes) > 5.5:
        suiting = [design for design in suiting if design.compensated]
    return rng.choice(suiting) if suiting else None


def _makes(design: Design, eye: dict[str, Any]) -> bool:
    cylinder, add = eye["cylinder"] or 0.0, eye["add"]
    in_range = design.sphere is None or design.sphere[0] <= eye["sphere"] + min(cylinder, 0.0) <= design.sphere[1]
    with_cylinder = design.sphere is None or design.sphere[0] <= eye["sphere"] <= design.sphere[1]
    add_fits = add is None or design.add is None or design.add[0] <= add <= design.add[1]
    prism = sum(part["amount"] for part in eye["prism"])
    made_so_prismatic = design.prism_max is None or prism <= design.prism_max
    return bool(
        in_range and with_cylinder and add_fits and made_so_prismatic and abs(cylinder) <= (design.cylinder_max or 6)
    )


def _heights(rng: Random, kind: str, frame: dict[str, Any], eyes: dict[str, Any]) -> dict[str, float | None]:
    """Pupils lie two to five millimetres above the middle of the lens; segments at the lower lid, below it."""
    b = frame["b_mm"]
    apart = rng.choice((0.0, 0.0, 0.0, 0.5, 0.5, 1.0))
    if kind == "single_vision":
        if _strength(eyes) < 4.0 and rng.random() < 0.6:
            return {"right": None, "left": None}
        # The optical centre goes half a millimetre below the pupil a degree of tilt.
        middle = b / 2.0 + min(max(rng.gauss(3.0, 1.0), 1.0), 4.5) - 3.5
    elif kind == "bifocal":
        middle = max(b / 2.0 - min(max(rng.gauss(4.0, 0.7), 3.0), 5.0), 12.5)
    else:
        middle = b / 2.0 + min(max(rng.gauss(3.2, 1.0), 1.5), 5.0)
    right = round(middle * 2.0) / 2.0
    return {"right": right, "left": min(right + (apart if rng.random() < 0.5 else -apart), b / 2.0 + 5.0)}


def _lens(
    rng: Random,
    catalogue: LensCatalogue,
    design: Design,
    person: Wearer,
    frame: dict[str, Any],
    pair: Pair,
    eyes: dict[str, Any],
    heights: dict[str, Any],
) -> dict[str, Any] | None:
    material = _material(catalogue, design, person, frame, eyes)
    if material is None:
        return None
    lens: dict[str, Any] = {"design": design.id, "material": material.id}
    lens |= _treatments(rng, catalogue, material, person, design)
    if design.corridors:
        low = min(heights.values())
        fitting = [row.length_mm for row in design.corridors if max(row.length_mm + 5.5, row.min_height_mm or 0) <= low]
        if not fitting or frame["b_mm"] - max(heights.values()) < (design.clearance_above_mm or 8.0) + 0.5:
            return None
        lens["corridor_mm"] = max(fitting)
    if rng.random() < 0.4:
        lens["blank_mm"] = _blank(design, person, frame, pair)
    return lens


def _material(
    catalogue: LensCatalogue, design: Design, person: Wearer, frame: dict[str, Any], eyes: dict[str, Any]
) -> Material | None:
    """Tough for the young and their sport, drillable for drilled frames, a higher index for more power."""
    offered = [
        material
        for material in catalogue.materials
        if material.id in design.materials
        and (material.density_g_cm3 or 1.0) < 2.0
        and (frame["mount"] != "drilled" or material.drillable)
        and (person.age >= 18 or material.impact_resistant)
    ]
    strength = _strength(eyes)
    wanted = 1.5 if strength < 2.0 else 1.6 if strength <= 4.0 else 1.67
    usual = [material for material in offered if person.age < 18 or not material.impact_resistant] or offered
    best = min(usual, key=lambda material: abs(material.index - wanted), default=None)
    # A lens that is not made in what suits the power is not what a careful dispenser chooses.
    return best if best is not None and best.index > wanted - 0.05 else None


def _treatments(
    rng: Random, catalogue: LensCatalogue, material: Material, person: Wearer, design: Design
) -> dict[str, Any]:
    def first(kind: str) -> str | None:
        found = (t.id for t in catalogue.treatments if t.kind == kind and material.id in t.materials)
        return next(found, None)

    chosen = [first("antireflection")] if rng.random() < 0.85 or material.index > 1.64 else [first("hard")]
    if material.impact_resistant:
        chosen = [first("hard"), *chosen]
    extra: dict[str, Any] = {}
    pick = rng.random()
    if pick < 0.08 and first("photochromic"):
        chosen.append(first("photochromic"))
        extra["_sun"] = True
    elif pick < 0.16:
        tints = [t for t in catalogue.treatments if t.kind == "tint" and material.id in t.materials]
        light = [t for t in tints if (t.luminous_transmittance or 0.0) > 0.1]
        if light:
            tint = rng.choice(light)
            chosen.append(TINT_TO_ORDER)
            extra["colour"] = (
                f"{rng.choice(('Brown', 'Grey'))} {100 - round((tint.luminous_transmittance or 0) * 100)} %, solid"
            )
            extra["_sun"] = True
            chosen = [
                first("antireflection") if c == first("hard") and not material.impact_resistant else c for c in chosen
            ]
    return {"treatments": list(dict.fromkeys(c for c in chosen if c)), **extra}


def _blank(design: Design, person: Wearer, frame: dict[str, Any], pair: Pair) -> float | None:
    """By the handbook's sum and a little more, for the eye that lies farther from the middle."""
    most = max(abs(frame_pd(frame) / 2.0 - pd) for pd in person.pd.values()) + (NEAR_MM if pair.is_close else 0.0)
    needed = frame["ed_mm"] + 2.0 * most + (8.0 if design.corridors else 5.0)
    return min((row.diameter_mm for row in design.blanks if row.diameter_mm >= needed), default=None)


def _patient(rng: Random, person: Wearer, number: int, worn: dict[str, Any] | None) -> dict[str, Any]:
    born = date(TODAY.year - person.age - 1, 12, 20) + timedelta(days=rng.randint(0, 330))
    return {
        "reference": f"P-{number:05d}",
        "born_on": born.isoformat(),
        "driver": person.driver,
        "protected": False,
        "present_spectacles": worn,
    }


def _prescription(rng: Random, person: Wearer, eyes: dict[str, Any], use: str, months_ago: int) -> dict[str, Any]:
    tested = TODAY - timedelta(days=rng.randint(0, 30) + 30 * months_ago)
    years = 1 if person.age < 16 or person.age >= 70 else 2
    return {
        "tested_on": tested.isoformat(),
        "expires_on": (tested + timedelta(days=365 * years)).isoformat(),
        "prescriber": "M. Prescriber",
        "source": "written",
        "signed": True,
        "vertex_mm": 12.0,
        "use": use,
        **eyes,
    }


def _fitting(rng: Random, person: Wearer, pair: Pair, made: dict[str, Any], heights: dict[str, Any]) -> dict[str, Any]:
    vertex, far = pair_uses.worn_vertex(rng, made), person.pd
    near = pair_uses.near_pds(rng, pair, far, vertex, person.eyes)
    return {
        **{
            eye: {"pd_mm": far[eye], "near_pd_mm": near[eye], "height_mm": heights[eye], "vertex_mm": vertex}
            for eye in EYES
        },
        "binocular_pd_mm": sum(far.values()) if rng.random() < 0.7 else None,
        "pantoscopic_deg": round(min(max(rng.gauss(7.5, 1.5), 4.0), 11.0)),
        "face_form_deg": round(min(max(rng.gauss(4.5, 1.2), 1.0), 8.0)),
        "near_distance_mm": pair.working_mm,
        "readings": rng.choice((2, 2, 2, 3)),
        "measured_in_this_frame": True,
        "pre_adjusted": True,
    }


def _route(rng: Random, document: dict[str, Any]) -> None:
    pick = rng.random()
    if pick < 0.6:
        document["supply"], source = "fitted", rng.choice(("lab_supplies", "enclosed", "enclosed", "to_follow"))
    elif pick < 0.85 and document["frame"]["shape"]:
        document["supply"], source = "edged", "trace_only"
    else:
        document["supply"], source = "uncut", "trace_only"
    document["frame"]["source"] = source
