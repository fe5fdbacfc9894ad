"""The practice's own price list on its pages and over the API, and in the comparison of lenses."""

from __future__ import annotations

from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from dispensing.models import AuditEvent
from orders.models import PriceList
from orders.services.lab_users import issue_lab_token
from orders.services.prices import FaultyPrices, stop_using_prices, take_in_prices, use_prices
from tests.contract.documents import a_catalogue, an_order
from tests.dispensing.api.callers import caller, faults
from tests.orders import shop
from tests.orders.api.test_real_answers_fit_their_description import misfits
from tests.orders.views.desk import text_of
from tests.people import person, signed_in

pytestmark = pytest.mark.django_db

HEAD = "design,material,treatment,amount,currency\n"
GOOD = f"{HEAD}sv,m160,,100.50,EUR\nprog,,,230,EUR\n,,ar,40,EUR\n"


def give(text: str) -> str:
    file = SimpleUploadedFile("prices.csv", text.encode(), content_type="text/csv")
    return text_of(signed_in("ines").post(reverse("price-page"), {"file": file}, follow=True))


def use(prices: PriceList) -> str:
    return text_of(signed_in("ines").post(reverse("price-use", args=[prices.public_id]), follow=True))


def listed(text: str = GOOD) -> PriceList:
    return use_prices(prices=take_in_prices(content=text.encode(), actor=None), actor=person("ines"))


def test_every_faulty_row_is_named_and_the_list_in_use_stays() -> None:
    shop.lab()
    first = listed()
    html = give(f"{HEAD}sv,m160,,x,EUR\nprog,,,230,EUR\n,,ar,40,euro\n")
    assert "Nothing was loaded. The list in use stays." in html
    assert html.count("<li>Line ") == 2
    assert "Line 2: The amount “x” is not a price" in html
    assert "Line 4: The currency “euro”" in html
    assert list(PriceList.objects.all()) == [first]
    assert PriceList.objects.get().in_use


def test_a_list_is_looked_at_then_used_and_the_last_one_put_back() -> None:
    shop.lab()
    first = listed()
    html = give(f"{HEAD}sv,m160,,110.50,EUR\n,,ar,40,EUR\nglass,,,80,EUR\n")
    second = PriceList.objects.get(in_use=False)
    assert "3 prices. Against the list in use" in html
    for line in ("Prog, a lens: 230 EUR", "Sv, m160, a lens: 100.50 EUR, now 110.50 EUR", "Glass, a lens: 80 EUR"):
        assert f"<li>{line}</li>" in html
    assert "<strong>1 row prices nothing that a catalogue in use offers.</strong>" in html
    assert "<li>Line 4: glass, a lens</li>" in html
    assert PriceList.objects.get(in_use=True) == first
    assert "This price list is in use" in use(second)
    assert PriceList.objects.get(in_use=True) == second
    use(first)
    assert PriceList.objects.get(in_use=True) == first
    assert PriceList.objects.get(pk=first.pk).text == GOOD
    told = [event.changes["sha256"] for event in AuditEvent.objects.filter(verb="prices.use").order_by("pk")]
    assert told == [[None, first.sha256], [first.sha256, second.sha256], [second.sha256, first.sha256]]


def test_the_comparison_goes_by_the_list_in_use_and_by_the_catalogue_without_one() -> None:
    order = shop.draft()
    listed()
    address = reverse("order-lenses", args=[order.public_id])
    html = text_of(signed_in("ravi").get(address))
    assert '<span class="nowrap">281.00 EUR</span><div class="small soft">our price list</div>' in html
    stop_using_prices(actor=person("ines"))
    html = text_of(signed_in("ravi").get(address))
    assert "EUR" not in html
    assert "The catalogue gives no price for it." in html


def test_a_file_too_large_or_broken_is_refused_and_nothing_kept() -> None:
    with pytest.raises(FaultyPrices) as refused:
        take_in_prices(content=b" " * 2_000_001, actor=None)
    assert "2.0 MB; 2 MB are allowed" in str(refused.value)
    assert "The file has 3 MB; 2 MB are allowed" in give(" " * 3_000_000)
    assert not PriceList.objects.exists()


def test_the_file_is_handed_back_as_it_came() -> None:
    answer = signed_in("ines").get(reverse("price-csv", args=[listed().public_id]))
    assert answer.content == GOOD.encode()


def test_over_the_api_a_list_is_looked_at_used_and_counts_for_staff_and_not_for_a_lab() -> None:
    client = caller("ines")
    refused = client.post(reverse("api-price-list-list"), {"csv": f"{HEAD}sv,,,x,EUR\n"})
    assert faults(refused) == {"csv": "Line 2: The amount “x” is not a price; write it as in 128.50."}
    order = an_order()
    for eye in ("right", "left"):
        order["lenses"][eye]["treatments"] = []
    answer = client.post(reverse("api-price-list-list"), {"csv": f"{HEAD},,,140.00,EUR\n,,ar,40,EUR\n"})
    assert (answer.status_code, misfits("/api/price-lists/", "post", answer)) == (201, [])
    assert answer.json()["rows"] == 2
    assert PriceList.objects.filter(in_use=True).count() == 0
    used = client.post(reverse("api-price-list-use", args=[answer.json()["prices"]["public_id"]]), {})
    assert (used.json()["prices"]["in_use"], misfits("/api/price-lists/{public_id}/use/", "post", used)) == (True, [])

    asked = {"order": order, "catalogues": [a_catalogue()]}

    def amounts(client: Any) -> set[float | None]:
        options = client.post(reverse("api-compare"), asked).json()["options"]
        return {(one["price"] or {}).get("amount") for one in options}

    assert amounts(caller("ravi")) == {280.0}
    lab = caller("ravi")
    token = issue_lab_token(lab=shop.lab(), actor=person("ines"))
    lab.credentials(HTTP_AUTHORIZATION=f"Bearer {token}")
    assert amounts(lab) == {None}
