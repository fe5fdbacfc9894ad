"""What each lab's catalogue offers, as the desk's own script reads it: a list follows a choice at once, without asking.

A list that waited for the server would change, or lose a letter, under the hands of whoever chooses from it by typing.
What is offered is said by the forms and the catalogue; nothing is decided here.
"""

from __future__ import annotations

from typing import Any

from django.utils.formats import date_format

from dispensing.choice_words import label
from dispensing.models import Practice
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import FittingPart
from orders.documents.names import DESIGN_KINDS
from orders.facts import catalogue_document, fitting_part
from orders.forms.desk import DeskForms
from orders.forms.lenses import NOT_CHOSEN, blanks, corridors, trimmed
from orders.options.corridors import suggested_corridor
from orders.options.lenses.offers import materials_of
from orders.queries import catalogues_in_use


def offers(forms: DeskForms) -> dict[str, Any]:
    """By the public id of each lab on offer: its designs, materials and treatments; and what an empty list says."""
    practice = Practice.current()
    fitted = {key: fitting_part(row, practice) for key, row in forms.offered.fittings.items()}
    found = {str(row.lab.public_id): catalogue_document(row) for row in catalogues_in_use()}
    if forms.job.lab_chosen is not None and forms.catalogue is not None:
        found[str(forms.job.lab_chosen.public_id)] = forms.catalogue
    return {"labs": {key: _of(catalogue, fitted) for key, catalogue in found.items()}, "empty": NOT_CHOSEN}


def _of(catalogue: LensCatalogue, fittings: dict[str, FittingPart]) -> dict[str, Any]:
    return {
        "issued": date_format(catalogue.issued_on, "j M Y") if catalogue.issued_on else "",
        "groups": {kind: label(words) for kind, words in DESIGN_KINDS.items()},
        "designs": [
            {
                "id": design.id,
                "name": design.name,
                "kind": design.kind,
                "materials": [material.id for material in materials_of(catalogue, design)],
                "corridors": corridors(design),
                "blanks": blanks(design),
                "suggested": {
                    key: trimmed(found)
                    for key, fitted in fittings.items()
                    if (found := suggested_corridor(design, fitted)) is not None
                },
            }
            for design in catalogue.designs
        ],
        "materials": [[material.id, material.name] for material in catalogue.materials],
        "treatments": [
            {"id": treatment.id, "name": treatment.name, "materials": list(treatment.materials)}
            for treatment in catalogue.treatments
        ],
    }
