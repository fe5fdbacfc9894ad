"""Whose paper it is: the name and birth date on it beside those of the patient. Must never turn a paper away."""

from __future__ import annotations

from datetime import date

from dispensing.folding import folded_words


def doubts(name: str | None, born_on: date | None, *, family_name: str, patient_born_on: date) -> list[str]:
    """Sentences that say why it may be somebody else's; none for what is not on the paper."""
    found = []
    if born_on is not None and born_on != patient_born_on:
        found.append(
            f"The paper is of somebody born {born_on:%d %b %Y}; this patient was born {patient_born_on:%d %b %Y}."
        )
    if name and not _may_be(name, family_name):
        found.append(f"The paper has the name “{name}”. Is this the right patient?")
    return found


def _may_be(name: str, family_name: str) -> bool:
    """Whether the family name is on it, whole or as the machine may have read it."""
    words = folded_words(name)
    return any(part in words or part in "".join(words) for part in folded_words(family_name))
