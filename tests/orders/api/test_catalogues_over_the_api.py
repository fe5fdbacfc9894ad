"""Catalogues over the API: the same road as on the manager's pages, with the same refusals."""

from __future__ import annotations

import json
from typing import Any

import pytest
from django.urls import reverse

from orders.models import Catalogue
from tests.dispensing.api.callers import caller, faults
from tests.orders import shop
from tests.orders.api.test_real_answers_fit_their_description import misfits

pytestmark = pytest.mark.django_db

DENSITY = "$.materials[0].density_g_cm3"
SAYS = "Density of the material “1.60” is 4.5 g/cm³; usual is 1 to 4.1 g/cm³."


def heavy(**changes: Any) -> dict[str, Any]:
    given = json.loads(shop.catalogue_bytes(**changes))
    given["materials"][0]["density_g_cm3"] = 4.5
    return dict(given)


def give(values: Any) -> Any:
    return caller("ines").post(reverse("api-catalogue-list"), {"catalogue": values})


def use(public_id: str, **asked: Any) -> Any:
    return caller("ines").post(reverse("api-catalogue-use", args=[public_id]), asked)


def test_a_catalogue_is_taken_in_looked_at_confirmed_and_used() -> None:
    order = shop.draft()
    first = shop.lab().catalogues.get()
    answer = give(heavy())
    assert answer.status_code == 201
    look = answer.json()
    assert look["changes"] == [
        {"how": "changed", "about": "material", "name": "1.60", "says": "density: 1.3 g/cm³, now 4.5 g/cm³"}
    ]
    assert look["doubts"] == [{"path": DENSITY, "says": SAYS}]
    assert (look["beside"], look["open_drafts"], look["touched_drafts"]) == (str(first.public_id), 1, 1)
    assert [one["number"] for one in look["touched"]] == [order.number]
    assert misfits("/api/catalogues/", "post", answer) == []
    own = look["catalogue"]["public_id"]
    refused = use(own, beside=look["beside"])
    assert (refused.status_code, refused.json()["doubts"]) == (409, [{"path": DENSITY, "says": SAYS}])
    assert Catalogue.objects.get(in_use=True) == first
    used = use(own, beside=look["beside"], confirmed=[DENSITY])
    assert (used.status_code, used.json()["catalogue"]["in_use"]) == (200, True)
    assert [one["by"] for one in used.json()["catalogue"]["confirmed"]] == ["Ines Holloway"]
    assert misfits("/api/catalogues/{public_id}/use/", "post", used) == []


def test_the_last_one_is_put_back_and_a_stale_look_is_refused() -> None:
    first = shop.lab().catalogues.get()
    second = give(json.loads(shop.catalogue_bytes(issued_on="2026-12-01"))).json()["catalogue"]["public_id"]
    assert use(second).status_code == 200
    stale = use(str(first.public_id), beside=str(first.public_id))
    assert stale.status_code == 409
    assert "Another catalogue came into use" in stale.json()["detail"]
    assert use(str(first.public_id), beside=second).status_code == 200
    assert Catalogue.objects.get(in_use=True) == first
    listed = caller("ines").get(reverse("api-catalogue-list"))
    assert [row["in_use"] for row in listed.json()["results"]] == [False, True]
    assert misfits("/api/catalogues/", "get", listed) == []


def test_faults_are_named_by_their_path_and_nothing_is_kept() -> None:
    shop.lab()
    given = heavy()
    given["materials"][0]["index"] = 14.98
    answer = give(given)
    assert answer.status_code == 400
    assert [fault for fault in faults(answer) if fault.startswith("catalogue.materials[0].index")]
    assert give({**heavy(), "lab": "Nowhere"}).status_code == 400
    assert give("catalogue").status_code == 400
    assert Catalogue.objects.count() == 1
