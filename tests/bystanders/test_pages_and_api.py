"""Pages, lists of the API and a lab's own view, with two other households on record: whose records they show."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.urls import reverse
from rest_framework.test import APIClient

from dispensing.services.tokens import issue_token
from orders.models import Order
from tests.bystanders.readings import ORDERS
from tests.bystanders.world import HOUSEHOLDS, NAMES, SPHERES, World
from tests.people import signed_in

EVER_SENT = tuple(name for name in ORDERS if name not in ("draft", "next_revision", "cancelled"))
STRANGERS = tuple(whose for whose in HOUSEHOLDS if whose != "ours")

# The pages of one patient's records: the address and the record it names.
PAGES_OF_ONE = [
    ("patient-page", "patient"),
    ("patient-correct", "patient"),
    ("prescription-page", "prescription"),
    ("prescription-new", "patient"),
    ("worn-pair-new", "patient"),
    ("worn-pair-correct", "worn_pair"),
    ("fitting-page", "fitting"),
    ("fitting-correct", "fitting"),
    ("photo-fitting-page", "measuring"),
    ("order-page", "draft"),
    ("order-page", "sent"),
    ("order-page", "superseded"),
    ("audit-of-patient", "patient"),
]


def private(world: World, whose: str) -> list[str]:
    """What tells a household's records from another's."""
    family, given, phone, _ = NAMES[whose]
    numbers = [world[f"{whose}.{name}"].number for name in ORDERS]
    written = f"{SPHERES[whose]:.2f}".replace("-", "−")
    return [family, given, phone, world[f"{whose}.patient"].reference, written, *numbers]


@pytest.mark.parametrize(("page", "record"), PAGES_OF_ONE, ids=lambda name: name)
def test_the_page_of_one_record_tells_nothing_of_another_patient(page: str, record: str, world: World) -> None:
    answer = signed_in("ines").get(reverse(page, args=[world[record].public_id]))
    assert answer.status_code == 200
    text = answer.content.decode()
    assert NAMES["ours"][0] in text
    for whose in STRANGERS:
        assert [word for word in private(world, whose) if word in text] == []


def test_the_desk_offers_the_patients_own_records_and_the_labs_in_use(world: World) -> None:
    form = signed_in("ravi").get(reverse("order-page", args=[world["draft"].public_id])).context["job"]
    offered = {
        name: {key for key, _ in form.fields[name].choices if key} for name in ("prescription", "fitting", "lab")
    }
    assert offered == {
        "prescription": {
            str(world[name].public_id)
            for name in ("prescription", "earlier_prescription", "first_prescription", "near_prescription")
        },
        "fitting": {str(world[name].public_id) for name in ("fitting", "fitting_in_own")},
        "lab": {str(world[f"{whose}.lab"].public_id) for whose in HOUSEHOLDS},
    }


def test_the_first_page_lists_the_patients_of_whoever_signed_in(world: World) -> None:
    recent = signed_in("ours-worker").get(reverse("home")).context["recent"]
    assert world.names_of(recent) == ["ours.patient"]


def caller(world: World, name: str) -> APIClient:
    client = APIClient()
    token = issue_token(actor=world["ines"], user=world[name])
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {token}")
    return client


def listed(answer: Any) -> list[str]:
    assert answer.status_code == 200, answer.json()
    found = answer.json()
    return [row["public_id"] for row in (found["results"] if isinstance(found, dict) else found)]


def ids(world: World, names: Any) -> list[str]:
    return [str(world[name].public_id) for name in names]


def test_a_lab_sees_the_orders_that_were_sent_to_it_and_no_others(world: World) -> None:
    found = listed(caller(world, "lab_user").get(reverse("api-lab-order-list")))
    assert found == ids(world, EVER_SENT)


@pytest.mark.parametrize(
    "name", ["ours.draft", "ours.next_revision", "ours.cancelled", *(f"{w}.sent" for w in STRANGERS)]
)
@pytest.mark.parametrize("part", ["detail", "document", "pdf", "events"])
def test_for_a_lab_there_is_no_order_but_its_own(name: str, part: str, world: World) -> None:
    lab, address = caller(world, "lab_user"), reverse(f"api-lab-order-{part}", args=[world[name].public_id])
    answer = lab.post(address, {"kind": "accepted"}) if part == "events" else lab.get(address)
    assert answer.status_code == 404
    assert world[name].place == {"ours.cancelled": "cancelled"}.get(name, "sent" if "sent" in name else "draft")


def test_a_lab_reads_its_own_order_and_tells_of_it_alone(world: World) -> None:
    lab, order = caller(world, "lab_user"), world["sent"]
    assert lab.get(reverse("api-lab-order-detail", args=[order.public_id])).json()["number"] == order.number
    document = lab.get(reverse("api-lab-order-document", args=[order.public_id]))
    assert document.content.decode() == order.documents.get().text
    told = lab.post(reverse("api-lab-order-events", args=[order.public_id]), {"kind": "dispatched", "note": "In box 4"})
    assert (told.status_code, told.json()["kind"], told.json()["note"]) == (201, "dispatched", "In box 4")
    assert told.json()["actor"] == "Lab of ours"
    assert world.names_of(Order.objects.filter(place="on the way")) == ["ours.sent"]


@pytest.mark.parametrize("name", ["superseded", "sent_and_cancelled"])
def test_a_lab_tells_nothing_of_an_order_that_is_no_longer_in_force(name: str, world: World) -> None:
    address = reverse("api-lab-order-events", args=[world[name].public_id])
    assert caller(world, "lab_user").post(address, {"kind": "accepted"}).status_code == 409
    assert world[name].place == {"superseded": "superseded"}.get(name, "cancelled")


# What a list is asked and which orders it gives, newest first.
LISTS: list[tuple[dict[str, str], Callable[[str], list[str]]]] = [
    ({}, lambda whose: [f"{whose}.{name}" for name in ORDERS]),
    ({"state": "superseded"}, lambda whose: [f"{whose}.superseded"]),
    ({"state": "sent"}, lambda whose: [f"{whose}.{name}" for name in ("amended", "troubled", "revision", "sent")]),
    ({"place": "draft"}, lambda whose: [f"{whose}.draft", f"{whose}.next_revision"]),
    ({"late": ""}, lambda whose: [f"{whose}.troubled"]),
    ({"late": "", "state": "draft"}, lambda whose: []),
]


@pytest.mark.parametrize(("asked", "wanted"), LISTS, ids=[str(asked) for asked, _ in LISTS])
def test_a_list_of_orders_gives_what_it_was_narrowed_to(asked: dict[str, str], wanted: Any, world: World) -> None:
    found = listed(caller(world, "ravi").get(reverse("api-order-list"), asked))
    assert found == ids(world, [name for whose in reversed(HOUSEHOLDS) for name in wanted(whose)])


@pytest.mark.parametrize("record", ["patient", "prescription", "frame", "fitting"])
def test_one_record_over_the_api_is_the_one_that_was_asked_for(record: str, world: World) -> None:
    client = caller(world, "ravi")
    for whose in HOUSEHOLDS:
        row = world[f"{whose}.{record}"]
        found = client.get(reverse(f"api-{record}-detail", args=[row.public_id])).json()
        assert found["public_id"] == str(row.public_id)
        if record in ("prescription", "fitting"):
            assert found["patient"] == str(world[f"{whose}.patient"].public_id)


@pytest.mark.parametrize(
    ("record", "names"),
    [
        ("patient", ["patient"]),
        ("prescription", ["near_prescription", "prescription", "earlier_prescription", "first_prescription"]),
        ("frame", ["own_frame", "withdrawn_frame", "frame"]),
        ("fitting", ["fitting", "fitting_in_own"]),
    ],
)
def test_a_list_over_the_api_gives_everybodys_newest_first(record: str, names: list[str], world: World) -> None:
    found = listed(caller(world, "ravi").get(reverse(f"api-{record}-list")))
    wanted = ids(world, [f"{whose}.{name}" for whose in reversed(HOUSEHOLDS) for name in names])
    assert found == (ids(world, ["namesake"]) if record == "patient" else []) + wanted


def test_finding_over_the_api_gives_those_who_were_asked_for(world: World) -> None:
    client = caller(world, "dora")
    for text, wanted in (("lindqvist", ["patient", "namesake"]), ("zubair", ["younger.patient"]), ("nobody", [])):
        assert listed(client.post(reverse("api-patient-find"), {"text": text})) == ids(world, wanted)


def test_an_order_over_the_api_carries_its_own_document_deliveries_and_events(world: World) -> None:
    order = world["sent"]
    found = caller(world, "ravi").get(reverse("api-order-detail", args=[order.public_id])).json()
    assert found["document"]["patient"]["reference"] == "P-90002"
    assert found["document"]["prescription"]["right"]["sphere"] == SPHERES["ours"]
    assert found["document"]["previous_prescription"]["tested_on"] == str(world["earlier_prescription"].tested_on)
    assert [row["public_id"] for row in found["deliveries"]] == ids(world, ["delivery"])
    assert [(event["kind"], event["actor"]) for event in found["events"]] == [
        ("created", "Dana Okafor"),
        ("sent", "Ours Worker"),
    ]
    assert (found["patient"], found["lab"]) == tuple(ids(world, ["patient", "lab"]))
