"""Combining treatments: what a material takes, what goes with what, and what may be left out or added."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from orders.documents.lens_catalogue import Material, Treatment
from orders.options.remedy import Proposal
from orders.rules.case import Case, EyeCase

MAY_BE_ADDED = ("hard", "antireflection")


def treatments_on(case: Case, eye: EyeCase, material: Material) -> list[str]:
    """The treatments ordered that `material` takes, or similar ones instead; soft, tough plastic gets a hard coat."""
    kept: list[Treatment] = []
    for treatment in eye.treatments:
        like = [treatment, *(other for other in case.catalogue.treatments if other.kind == treatment.kind)]
        chosen = next((t for t in like if _takes(material, t) and _agrees(t, kept)), None)
        kept += [chosen] if chosen and chosen not in kept else []
    if material.impact_resistant and not any(t.kind in MAY_BE_ADDED for t in kept):
        hard = (t for t in case.catalogue.treatments if t.kind == "hard" and _takes(material, t) and _agrees(t, kept))
        kept += list(hard)[:1]
    return [treatment.id for treatment in kept]


def left_out(case: Case, eye: EyeCase) -> Iterator[Proposal]:
    for id in eye.lens.treatments if eye.lens else ():
        treatment = case.catalogue.treatment(id)
        rest = [other for other in (eye.lens.treatments if eye.lens else ()) if other != id]
        name = treatment.name if treatment else f"“{id}”"
        yield Proposal("treatment", f"Leave out {name} {_where(case, eye)}.", _for(case, eye, rest), 2.0)


def exchanged(case: Case, eye: EyeCase) -> Iterator[Proposal]:
    """Each treatment for another of its kind."""
    for old in eye.treatments:
        rest = [t for t in eye.treatments if t is not old]
        for new in case.catalogue.treatments:
            if new.kind != old.kind or new in eye.treatments or not _takes(eye.material, new) or not _agrees(new, rest):
                continue
            ids = [new.id if id == old.id else id for id in (eye.lens.treatments if eye.lens else ())]
            text = f"Order {new.name} instead of {old.name} {_where(case, eye)}."
            yield Proposal("treatment", text, _for(case, eye, ids), 1.5)


def added(case: Case, eye: EyeCase) -> Iterator[Proposal]:
    for new in case.catalogue.treatments:
        if new in eye.treatments or not _takes(eye.material, new) or not _agrees(new, eye.treatments):
            continue
        if new.kind in MAY_BE_ADDED:
            ids = [*(eye.lens.treatments if eye.lens else ()), new.id]
            yield Proposal("treatment", f"Add {new.name} {_where(case, eye)}.", _for(case, eye, ids), 1.0)


def _where(case: Case, eye: EyeCase) -> str:
    return "on both lenses" if _are_alike(case) else f"on the {eye.eye} lens"


def _for(case: Case, eye: EyeCase, ids: list[str]) -> dict[str, list[str]]:
    """Change both lenses if they now have the same: a pair is coated alike."""
    eyes = case.eyes if _are_alike(case) else (eye,)
    return {f"lenses.{one.eye}.treatments": ids for one in eyes}


def _are_alike(case: Case) -> bool:
    lenses = [set(eye.lens.treatments) for eye in case.eyes if eye.lens]
    return case.is_pair and lenses[0] == lenses[1]


def _takes(material: Material | None, treatment: Treatment) -> bool:
    return material is None or not treatment.materials or material.id in treatment.materials


def _agrees(treatment: Treatment, others: Iterable[Treatment]) -> bool:
    return not any(other.id in treatment.excludes or treatment.id in other.excludes for other in others)
