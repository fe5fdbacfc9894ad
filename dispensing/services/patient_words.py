"""Keeps what a patient is found by in step with the record."""

from __future__ import annotations

from collections.abc import Iterable

from dispensing.models import NameKey, Patient, Practice
from dispensing.search_words import contact_text, new_name_keys, own_text

WORD_FIELDS = ("search_text", "contact_text")


def set_search_words(patient: Patient) -> None:
    """Writes what a search looks through into the patient, who is not saved."""
    country = Practice.current().country
    patient.search_text = own_text(patient, country)
    patient.contact_text = contact_text(patient, country)


def keep_name_keys(patients: Iterable[Patient]) -> None:
    """Lets the names of these patients, and of their guardians, be found although misspelt."""
    rows = [NameKey(key=key, word=word) for key, word in new_name_keys(patients, _on_record)]
    NameKey.objects.bulk_create(rows, ignore_conflicts=True, batch_size=2000)


def _on_record(words: Iterable[str]) -> set[str]:
    # A word is its own first key.
    return {key for key, word in NameKey.objects.filter(key__in=words).values_list("key", "word") if key == word}
