"""Whom a broken lens would hurt most, in words that follow “the wearer”. What to do about it is for the rules."""

from __future__ import annotations

from orders.rules.case import Case


def reason_for_impact_resistance(case: Case) -> str | None:
    """Why an impact-resistant material is advised: a young wearer, or one who depends on one eye; None if neither."""
    if case.age is not None and case.age < case.limit("impact-need", "below_years"):
        return f"is {case.age} years old"
    if case.has_two_poor_eyes:
        return "sees little with both eyes"
    if case.is_one_eyed:
        said = case.remarks.one_eyed
        return f"has one good eye only (“{said}”, say the remarks)" if said else "has one good eye only"
    return _lazy_eye(case)


def _lazy_eye(case: Case) -> str | None:
    """An eye that is said to be lazy, and whose acuity is not written, may see little."""
    lazy = [(eye, case.remarks.lazy[eye.eye]) for eye in case.both if eye.eye in case.remarks.lazy]
    unknown = [(eye, said) for eye, said in lazy if eye.acuity.decimal is None]
    if not unknown:
        return None
    eye, said = unknown[0]
    return f"may have one good eye only (the remarks say “{said}” of the {eye.name}, and no acuity is written)"
