"""A lab's catalogue on the manager's pages: given, looked at beside the one in use, used, put back, downloaded."""

from __future__ import annotations

import json
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from orders.models import Catalogue, Lab
from orders.services.catalogues import take_in
from tests.known import there
from tests.orders import shop
from tests.orders.views.desk import text_of
from tests.people import person, signed_in

pytestmark = pytest.mark.django_db


def give(lab: Lab, content: bytes, name: str = "catalogue.json") -> str:
    file = SimpleUploadedFile(name, content, content_type="application/json")
    address = reverse("catalogue-import", args=[lab.public_id])
    return text_of(signed_in("ines").post(address, {"file": file}, follow=True))


def test_a_new_catalogue_is_in_use_from_now_on_for_new_and_draft_orders() -> None:
    order = shop.draft()
    page = give(there(order.lab), shop.catalogue_bytes(issued_on="2026-12-01"))
    assert "<h1>Catalogue of 1 December 2026</h1>" in page
    order.refresh_from_db()
    assert str(there(order.catalogue).issued_on) == "2026-11-01"
    html = use(there(order.lab).catalogues.get(in_use=False))
    assert "The catalogue issued 2026-12-01 is in use" in html
    order.refresh_from_db()
    assert str(there(order.catalogue).issued_on) == "2026-12-01"


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"not json", "is not JSON"),
        (b"\xff\xfe\x00", "is not UTF-8 text"),
        (shop.catalogue_bytes(lab="Another"), "$.lab"),
        (shop.catalogue_bytes(colour="blue"), "$.colour: unknown key"),
        (json.dumps({"format": "lens-order/1"}).encode(), "this file must say"),
        (shop.catalogue_bytes(materials=[{}] * 40), "more"),
    ],
    ids=["text", "bytes", "other lab", "unknown key", "order", "many faults"],
)
def test_a_catalogue_with_faults_is_not_imported_and_each_fault_is_listed(content: Any, said: str) -> None:
    lab = shop.lab()
    html = give(lab, content)
    assert "This file was not imported" in html
    assert said in html.replace("&quot;", '"')
    assert lab.catalogues.count() == 1


def test_no_file_is_a_fault_beside_the_field() -> None:
    lab = shop.lab()
    answer = signed_in("ines").post(reverse("catalogue-import", args=[lab.public_id]), {})
    assert "This field is required" in text_of(answer)
    assert "The submitted file is empty" in give(lab, b"")


def test_a_catalogue_of_many_megabytes_is_refused_unread() -> None:
    assert "The file has 5 MB; 4 MB are allowed" in give(shop.lab(), b" " * 5_000_000)


def test_the_imported_catalogue_is_handed_back_as_it_came() -> None:
    catalogue = shop.lab().catalogues.get()
    answer = signed_in("dora").get(reverse("catalogue-json", args=[catalogue.public_id]))
    assert answer.content == catalogue.text.encode()
    assert "attachment" in answer.headers["Content-Disposition"]


def use(catalogue: Catalogue, **typed: Any) -> str:
    beside = catalogue.lab.catalogues.filter(in_use=True).first()
    data = {"beside": str(beside.public_id) if beside else ""} | typed
    return text_of(signed_in("ines").post(reverse("catalogue-use", args=[catalogue.public_id]), data, follow=True))


def page_of(catalogue: Catalogue) -> str:
    return text_of(signed_in("ines").get(reverse("catalogue-page", args=[catalogue.public_id])))


def heavy() -> bytes:
    return shop.catalogue_bytes(materials=[{**shop.CATALOGUE["materials"][0], "density_g_cm3": 4.5, "abbe": 62}])


def test_the_page_names_each_change_and_the_drafts_it_touches() -> None:
    order = shop.draft()
    narrow = {**shop.CATALOGUE["designs"][0], "sphere": [-1.0, 1.0], "blanks": [{"diameter_mm": 70}]}
    taken = take_in(lab=shop.lab(), content=shop.catalogue_bytes(designs=[narrow]), actor=person("ines"))
    html = page_of(taken)
    assert "Against the one in use, issued 1 Nov 2026." in html
    assert '<h3>Gone <span class="count">2</span></h3>' in html
    assert '<h3>Changed <span class="count">1</span></h3>' in html
    for cell in ("Blank 65 mm", "Sphere: −10 to 8 D, now −1 to 1 D", "The whole entry"):
        assert f'<td data-label="What">{cell}</td>' in html
    assert "<dt>Open drafts with this lab</dt><dd>1</dd>" in html
    assert "<dt>It would newly stop</dt><dd>1</dd>" in html
    assert f'<a href="{reverse("order-page", args=[order.public_id])}">{order.number}</a>' in html
    assert "Would be stopped: " in html


def test_an_unusual_figure_left_unticked_is_named_and_nothing_is_used() -> None:
    lab = shop.lab()
    taken = take_in(lab=lab, content=heavy(), actor=None)
    paths = ["$.materials[0].abbe", "$.materials[0].density_g_cm3"]
    assert all(path in page_of(taken) for path in paths)
    html = use(taken, confirmed=paths[:1])
    assert "Not confirmed yet: Density of the material “1.60” is 4.5 g/cm³" in html
    assert "Not confirmed yet: Abbe" not in html
    assert not Catalogue.objects.get(pk=taken.pk).in_use
    assert "is in use" in use(taken, confirmed=paths)
    html = page_of(Catalogue.objects.get(pk=taken.pk))
    assert html.count("Confirmed by Ines") == 2


def test_the_last_one_is_put_back_from_its_own_page() -> None:
    lab = shop.lab()
    first = lab.catalogues.get()
    second = take_in(lab=lab, content=shop.catalogue_bytes(issued_on="2026-12-01"), actor=None)
    assert "Use this catalogue" in page_of(second)
    use(second)
    html = text_of(signed_in("ines").get(reverse("lab-page", args=[lab.public_id])))
    assert "Until replaced" in html
    assert "Put this catalogue back" in page_of(first)
    use(first)
    assert lab.catalogues.get(in_use=True) == first


def test_a_look_beside_one_that_is_no_longer_in_use_is_refused() -> None:
    lab = shop.lab()
    first = lab.catalogues.get()
    use(take_in(lab=lab, content=shop.catalogue_bytes(issued_on="2026-12-01"), actor=None))
    third = take_in(lab=lab, content=shop.catalogue_bytes(issued_on="2026-12-02"), actor=None)
    assert "Another catalogue came into use in the meantime" in use(third, beside=str(first.public_id))
    assert not Catalogue.objects.get(pk=third.pk).in_use
