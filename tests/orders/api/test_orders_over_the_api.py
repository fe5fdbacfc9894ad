"""Orders over the API: drawn up, settled, sent and followed as on the pages, with the same refusals."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries
from rest_framework.test import APIClient

from dispensing.models import Practice
from dispensing.trade.facts import STANDARDS
from orders.models import Order
from orders.options.frames.command import run as compare_frame_files
from orders.options.lenses.command import run as compare_files
from orders.rules.check_files import run as check_files
from orders.sending.by_hand import withhold_delivery
from orders.services.cancelling import cancel_order
from orders.services.lab_users import issue_lab_token
from orders.services.sending import send_order
from orders.verification.command import run as verify_files
from tests.dispensing.api.callers import based_on, caller, faults
from tests.orders import shop
from tests.orders.options.frames.stock import drawn, odd
from tests.people import person

pytestmark = pytest.mark.django_db


def sent(**fields: Any) -> Order:
    order = shop.draft(**fields)
    send_order(order=order, actor=shop.dispenser(), version=order.version)
    return Order.objects.get(pk=order.pk)


def at(name: str, order: Order) -> str:
    return reverse(f"api-order-{name}", args=[order.public_id])


def asked(**changes: Any) -> dict[str, Any]:
    patient, frame = shop.patient(), shop.frame()
    shop.practice()
    chosen: dict[str, Any] = {
        "patient": patient,
        "prescription": shop.prescription(patient),
        "frame": frame,
        "fitting": shop.fitting(patient, frame),
        "lab": shop.lab(),
    }
    return {
        **{name: str(row.public_id) for name, row in chosen.items()},
        "lenses": {"right": shop.LENS, "left": shop.LENS},
        "frame_source": "enclosed",
        "other_pair": True,
        "needed_on": (timezone.localdate() + timedelta(days=14)).isoformat(),
    } | changes


def test_an_order_is_drawn_up_changed_and_sent_and_its_files_are_the_stored_bytes() -> None:
    client = caller()
    made = client.post(reverse("api-order-list"), asked())
    assert made.status_code == 201, made.json()
    assert (made.json()["state"], made.json()["version"]) == ("draft", 1)
    assert made.json()["report"]["verdict"] in ("clear", "note")
    order = Order.objects.get()
    changed = client.patch(at("detail", order), {"remarks": "Ring first"}, headers=based_on(1))
    assert (changed.json()["version"], changed.json()["document"]["remarks"]) == (2, "Ring first")
    done = client.post(at("send", order), headers=based_on(2))
    assert (done.status_code, done.json()["state"]) == (200, "sent")
    stored = order.documents.get()
    assert done.json()["sha256"] == stored.sha256
    assert client.get(at("document", order)).content == stored.text.encode()
    assert client.get(at("pdf", order)).content == bytes(stored.pdf)


def test_an_edge_is_ordered_for_its_eye_and_its_slips_are_told_by_their_path() -> None:
    client, order = caller(), shop.draft()
    edge = {"polished": True, "bevel": "mini bevel"}
    lenses: dict[str, Any] = {"right": {**shop.LENS, "edge": edge}, "left": shop.LENS}
    made = client.patch(at("detail", order), {"lenses": lenses}, headers=based_on(1)).json()["document"]["lenses"]
    assert made["right"]["edge"] == edge
    assert "edge" not in made["left"]
    for wrong, path in (({"bevel": "b" * 61}, "bevel"), ({"polished": "perhaps"}, "polished"), ({"gloss": 1}, "gloss")):
        lenses["left"] = {**shop.LENS, "edge": wrong}
        refused = client.patch(at("detail", order), {"lenses": lenses}, headers=based_on(2))
        assert refused.status_code == 400
        assert list(faults(refused)) == [f"lenses.left.edge.{path}"]
    assert Order.objects.get(pk=order.pk).lenses["left"] == shop.LENS


def test_an_order_is_made_urgent_and_nothing_else_is_a_priority() -> None:
    client, order = caller(), shop.draft()
    made = client.patch(at("detail", order), {"priority": "urgent"}, headers=based_on(1))
    assert made.json()["document"]["extra"] == {"priority": "urgent"}
    assert faults(client.patch(at("detail", order), {"priority": "soon"}, headers=based_on(2))).keys() == {"priority"}
    assert Order.objects.get(pk=order.pk).priority == "urgent"


def test_codes_are_data_and_names_stand_beside_them() -> None:
    drawn_up = caller().get(at("detail", too_big())).json()
    lens = drawn_up["document"]["lenses"]["right"]
    assert (lens["design"], lens["extra"]["design_name"]) == ("sv", "Single vision")
    assert (lens["material"], lens["extra"]["material_name"]) == ("m160", "1.60")
    assert (lens["treatments"], lens["extra"]["treatment_names"]) == (["ar"], ["Anti-reflection"])
    blank = next(part for part in drawn_up["report"]["findings"] if part["rule"] == "blank-size")
    assert blank["title"] == "The lens cuts out of the blank"
    assert blank["message"] == f"{blank['says']} {blank['advice']}"
    (delivery,) = caller().get(at("detail", sent())).json()["deliveries"]
    assert (delivery["channel"], delivery["channel_name"]) == ("email", "E-mail to the lab")
    assert (delivery["state"], delivery["state_name"]) == ("queued", "Waiting to be sent")


REFUSED = [
    ({"patient": None}, "patient", "may not be null"),
    ({"lenses": {"right": {"design": ["sv"]}}}, "lenses.right.design", "Not a valid string"),
    ({"lenses": {"middle": {}}}, "lenses.middle", "Unknown key"),
    ({"lenses": {"left": {"tint": "grey"}}}, "lenses.left.tint", "Unknown key"),
    ({"lenses": []}, "lenses", "Expected a dictionary"),
    ({"lenses": 0}, "lenses", "Expected a dictionary"),
    ({"lenses": None}, "lenses", "may not be null"),
    ({"lenses": {"right": {"colour": "a\x00b"}}}, "lenses.right.colour", "Null characters"),
    ({"kept_lens": "glass"}, "kept_lens", "Expected a dictionary"),
    ({"remake_of": "D-00001"}, "remake_of", "There is no order"),
    ({"colour": "blue"}, "colour", "Unknown key"),
]


@pytest.mark.parametrize(("changes", "field", "said"), REFUSED, ids=str)
def test_a_draft_of_another_form_is_refused_by_its_path(changes: dict[str, Any], field: str, said: str) -> None:
    told = faults(caller().post(reverse("api-order-list"), asked(**changes)))
    assert (list(told), said in told[field]) == ([field], True)
    assert not Order.objects.exists()


@pytest.mark.parametrize("part", ["prescription", "fitting", "frame", "remake_of"])
def test_another_patients_records_are_refused(part: str) -> None:
    other = shop.patient("P-90031")
    frame = shop.frame(owner=other)
    foreign: dict[str, Callable[[], Any]] = {
        "prescription": lambda: shop.prescription(other),
        "fitting": lambda: shop.fitting(other, frame),
        "frame": lambda: frame,
        "remake_of": lambda: sent(patient=other),
    }
    answer = caller().post(reverse("api-order-list"), asked(**{part: str(foreign[part]().public_id)}))
    assert "another patient" in faults(answer)[part]


def too_big() -> Order:
    patient, frame = shop.patient(), shop.frame(a_mm=62, b_mm=48, dbl_mm=22, ed_mm=66)
    return shop.draft(frame=frame, fitting=shop.fitting(patient, frame, height_mm_right=25, height_mm_left=25))


def test_what_is_open_keeps_an_order_from_being_sent_and_is_listed() -> None:
    order = too_big()
    answer = caller().post(at("send", order), headers=based_on(1))
    faults(answer, 409)
    assert any("blank" in message for message in answer.json()["findings"])


def test_a_stop_is_lifted_with_a_reason() -> None:
    order = too_big()
    asked_for = {"rule": "blank-size", "eye": "right"}
    assert "Say why" in faults(caller().post(at("settle", order), asked_for, headers=based_on(1)))["reason"]
    done = caller().post(at("settle", order), asked_for | {"reason": "The lab has 80 mm"}, headers=based_on(1))
    assert done.json()["document"]["lifted"][0]["by"] == "Ravi Castellan"
    faults(caller().post(at("settle", order), {"rule": "no-such-rule"}, headers=based_on(2)), 409)


def test_a_draft_has_no_files_and_cannot_be_followed() -> None:
    order = shop.draft()
    for name in ("document", "pdf"):
        faults(caller().get(at(name, order)), 409)
    refused = caller().post(at("events", order), {"kind": "received"})
    faults(refused, 409)
    assert refused.json()["may"] == ["note"]
    assert [event.kind for event in order.events.all()] == ["created"]


def test_what_happened_is_noted_and_what_only_the_program_knows_is_not() -> None:
    order = shop.brought_to("at the lab")
    told = caller("dora").post(at("events", order), {"kind": "received", "note": "Scratched case"})
    assert (told.status_code, told.json()["actor"]) == (201, "Dora Penhallow")
    for kind in ("sent", "cancelled", "superseded", "created", "lost"):
        assert "kind" in faults(caller().post(at("events", order), {"kind": kind}))
    assert Order.objects.get(pk=order.pk).place == "in, to be checked"


def test_the_list_is_narrowed_and_an_unknown_place_is_a_fault() -> None:
    order = sent()
    shop.draft()
    client, address = caller(), reverse("api-order-list")
    assert [row["number"] for row in client.get(address, {"state": "sent"}).json()["results"]] == [order.number]
    assert client.get(address, {"late": ""}).json()["results"] == []
    assert "place" in faults(client.get(address, {"place": "a\x00"}))
    assert client.get(at("detail", order)).json()["is_late"] is False


def lab_caller(name: str) -> APIClient:
    client = APIClient()
    token = issue_lab_token(lab=shop.lab(name), actor=person("ines"))
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {token}")
    return client


def test_a_lab_sees_the_orders_sent_to_it_and_nobodys_name() -> None:
    own, draft = sent(), shop.draft()
    foreign = sent(patient=shop.patient("P-90033"), lab=shop.lab("Far Lab"))
    client = lab_caller("Quay Street Lab")
    listed = client.get(reverse("api-lab-order-list"))
    assert [row["number"] for row in listed.json()["results"]] == [own.number]
    told = listed.content + client.get(reverse("api-lab-order-document", args=[own.public_id])).content
    assert b"Lindqvist" not in told
    for hidden in (draft, foreign):
        for name in ("detail", "document", "pdf"):
            faults(client.get(reverse(f"api-lab-order-{name}", args=[hidden.public_id])), 404)
    for name in ("api-order-list", "api-patient-list", "api-frame-list"):
        faults(client.get(reverse(name)), 403)
    assert client.get(reverse("api-lab-order-pdf", args=[own.public_id])).content.startswith(b"%PDF-")


def test_a_lab_tells_what_it_does_and_nothing_else() -> None:
    own = sent()
    client, address = lab_caller("Quay Street Lab"), reverse("api-lab-order-events", args=[own.public_id])
    assert client.post(address, {"kind": "accepted"}).status_code == 201
    assert Order.objects.get(pk=own.pk).place == "at the lab"
    assert "kind" in faults(client.post(address, {"kind": "handed over"}))
    again = client.post(address, {"kind": "accepted"})
    faults(again, 409)
    assert again.json()["may"] == ["query", "delayed", "dispatched", "refused"]
    cancel_order(order=Order.objects.get(pk=own.pk), actor=shop.dispenser(), reason="Patient moved away")
    refused = client.post(address, {"kind": "dispatched"})
    faults(refused, 409)
    assert "This order is at “cancelled”" in refused.json()["detail"]
    assert refused.json()["may"] == ["acknowledged"]


def test_a_lab_that_answers_has_the_order_though_its_mail_was_held_back() -> None:
    own = sent()
    withhold_delivery(delivery=own.documents.get().deliveries.get(), actor=shop.dispenser())
    refused = caller().post(at("events", own), {"kind": "received"})
    faults(refused, 409)
    assert "The lab has not got this order yet" in refused.json()["detail"]
    assert refused.json()["may"] == ["note"]
    address = reverse("api-lab-order-events", args=[own.public_id])
    assert lab_caller("Quay Street Lab").post(address, {"kind": "accepted"}).status_code == 201
    assert caller().post(at("events", own), {"kind": "received"}).status_code == 201


def test_the_check_answers_as_the_command_does(tmp_path: Path) -> None:
    document = sent().documents.get().text
    order, catalogue = tmp_path / "order.json", tmp_path / "catalogue.json"
    order.write_text(document)
    catalogue.write_bytes(shop.catalogue_bytes())
    out = io.StringIO()
    check_files([order], catalogue, out, io.StringIO())
    body = {"order": json.loads(document), "catalogue": shop.CATALOGUE}
    for client in (caller("dora"), lab_caller("Quay Street Lab")):
        answer = client.post(reverse("api-check"), body)
        assert (answer.status_code, answer.json()) == (200, json.loads(out.getvalue()))


def test_a_finished_pair_is_judged_as_the_command_judges_it(tmp_path: Path) -> None:
    document = sent().documents.get().text
    readings = {"format": "finished-readings/1", "right": {"sphere": -2.75, "pd_mm": 32.0}}
    (tmp_path / "order.json").write_text(document)
    (tmp_path / "readings.json").write_text(json.dumps(readings))
    for standard in STANDARDS:
        out = io.StringIO()
        code = verify_files(tmp_path / "order.json", tmp_path / "readings.json", standard, out, io.StringIO())
        body = {"order": json.loads(document), "readings": readings, "standard": standard}
        for client in (caller("dora"), lab_caller("Quay Street Lab")):
            answer = client.post(reverse("api-verify"), body)
            assert (answer.status_code, answer.json()) == (200, json.loads(out.getvalue()))
        assert (code, answer.json()["verdict"]) == (1, "return")
    here = caller().post(reverse("api-verify"), {"order": json.loads(document), "readings": readings})
    assert here.json()["extra"]["standard"]["id"] == "iso-21987-2017"


def test_a_reading_is_added_as_on_the_page_and_a_second_reader_is_somebody_else() -> None:
    Practice.objects.update(second_reader_for=["every"])
    own, other = sent(), sent(patient=shop.patient("P-90002"))
    own.documents.get().deliveries.update(state="sent")
    address = at("finished-readings", own)
    body = {
        "readings": {"format": "finished-readings/1", "right": {"sphere": -2.75}, "left": {"sphere": -2.0}},
        "inspection": {"edge": {"found": "defect", "words": "Chip"}},
    }
    first = caller("ravi").post(address, body)
    assert (first.status_code, first.json()["result"], first.json()["has_defects"]) == (201, "return", True)
    stands = caller("ravi").get(address).json()
    assert (stands["result"], stands["waits_for_second_reader"]) == ("return", True)
    second = caller("ines").post(address, body)
    assert second.json()["second_of"] == first.json()["public_id"]
    assert caller("ravi").get(address).json()["waits_for_second_reader"] is False
    assert caller("ravi").get(at("finished-readings", other)).json()["readings"] == []
    unknown = faults(caller("ravi").post(address, {**body, "inspection": {"soul": {"found": "fine"}}}))
    assert unknown == {"inspection": "“soul” is no point of the inspection."}
    draft = shop.draft(patient=shop.patient("P-90003"))
    faults(caller("ravi").post(at("finished-readings", draft), body), 409)


def test_a_verdict_tells_every_fault_of_both_documents_by_its_path() -> None:
    body = {"order": {}, "readings": {"format": "finished-readings/1", "left": {"sphare": 1}}, "standard": "ours"}
    assert set(faults(caller().post(reverse("api-verify"), body))) == {"standard"}
    body["standard"] = "iso-21987-2017"
    found = faults(caller().post(reverse("api-verify"), body))
    assert (set(found), found["readings.left.sphare"]) == ({"order.format", "readings.left.sphare"}, "unknown key")


def test_lenses_are_compared_as_the_command_compares_them(tmp_path: Path) -> None:
    document = sent().documents.get().text
    order, catalogue = tmp_path / "order.json", tmp_path / "catalogue.json"
    order.write_text(document)
    catalogue.write_bytes(shop.catalogue_bytes())
    lines = {}
    for only_makeable in (False, True):
        out = io.StringIO()
        compare_files(order, [catalogue, catalogue], out, io.StringIO(), only_makeable=only_makeable)
        lines[only_makeable] = [json.loads(line) for line in out.getvalue().splitlines()]
    assert 0 < len(lines[True]) < len(lines[False])
    body = {"order": json.loads(document), "catalogues": [shop.CATALOGUE, shop.CATALOGUE]}
    for client in (caller("dora"), lab_caller("Quay Street Lab")):
        answer = client.post(reverse("api-compare"), body)
        assert (answer.status_code, answer.json()) == (200, {"options": lines[False]})
        answer = client.post(reverse("api-compare"), {**body, "only_makeable": True})
        assert (answer.status_code, answer.json()) == (200, {"options": lines[True]})


def test_a_comparison_tells_every_fault_of_every_document_by_its_path() -> None:
    body = {"order": {}, "catalogues": [shop.CATALOGUE, {"format": "lens-catalogue/1", "lab": "L", "designs": 3}]}
    found = faults(caller().post(reverse("api-compare"), body))
    assert (set(found), "must be a list" in found["catalogues.1.designs"]) == (
        {"order.format", "catalogues.1.designs"},
        True,
    )
    assert set(faults(caller().post(reverse("api-compare"), {"order": {}, "catalogues": []}))) == {"catalogues"}
    assert set(faults(caller().post(reverse("api-compare"), {**body, "only": 1}))) == {"only"}


def test_frames_are_compared_as_the_command_compares_them(tmp_path: Path) -> None:
    document = sent().documents.get().text
    frames = [json.loads(frame.model_dump_json()) for frame in (*drawn(31, 8), *odd(32, 4))]
    stock = {"format": "frame-stock/1", "frames": frames}
    order, catalogue, frames_file = (tmp_path / f"{name}.json" for name in ("order", "catalogue", "frames"))
    order.write_text(document)
    catalogue.write_bytes(shop.catalogue_bytes())
    frames_file.write_text(json.dumps(stock))
    lines = {}
    for only_makeable in (False, True):
        out = io.StringIO()
        compare_frame_files(order, catalogue, frames_file, out, io.StringIO(), only_makeable=only_makeable)
        lines[only_makeable] = [json.loads(line) for line in out.getvalue().splitlines()]
    assert 0 < len(lines[True]) < len(lines[False]) == 12
    body = {"order": json.loads(document), "catalogue": shop.CATALOGUE, "stock": stock}
    for client in (caller("dora"), lab_caller("Quay Street Lab")):
        answer = client.post(reverse("api-compare-frames"), body)
        assert (answer.status_code, answer.json()) == (200, {"options": lines[False]})
        answer = client.post(reverse("api-compare-frames"), {**body, "only_makeable": True})
        assert (answer.status_code, answer.json()) == (200, {"options": lines[True]})


def test_a_comparison_of_frames_tells_every_fault_of_every_document_by_its_path() -> None:
    body: dict[str, Any] = {"order": {}, "catalogue": shop.CATALOGUE, "stock": {"format": "frame-stock/1", "frames": 3}}
    address = reverse("api-compare-frames")
    assert set(faults(caller().post(address, body))) == {"order.format", "stock.frames"}
    bare = {**body, "order": {"format": "lens-order/1"}, "stock": {"format": "frame-stock/1"}}
    found = faults(caller().post(address, bare))
    assert found == {"order.lenses": "No lens is ordered, so no frame can be compared for one."}


NO_DOCUMENTS = [
    ({}, {"order": "This field is required.", "catalogue": "This field is required."}),
    ({"order": {}, "catalogue": {}}, {"order.format": "is missing", "catalogue.format": "is missing"}),
    (
        {"order": {"format": "lens-order/1", "lenses": {"left": {"tint": 1}}}, "catalogue": shop.CATALOGUE},
        {"order.lenses.left.tint": "unknown key"},
    ),
    (
        {"order": {"format": "lens-order/1"}, "catalogue": {"format": "lens-catalogue/1"}},
        {"catalogue.lab": "is missing"},
    ),
    ({"order": [], "catalogue": 3}, {"order": "must be an object", "catalogue": "must be an object"}),
    ([], {"non_field_errors": "Expected a dictionary"}),
]


@pytest.mark.parametrize(("body", "told"), NO_DOCUMENTS, ids=str)
def test_documents_that_are_not_valid_are_refused_with_every_fault_by_its_path(body: Any, told: dict[str, str]) -> None:
    found = faults(caller().post(reverse("api-check"), body))
    assert set(found) == set(told)
    assert all(said in found[path] for path, said in told.items())


def test_the_list_and_one_order_ask_the_database_the_same_few_questions(
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    for number in range(8):
        shop.draft(lab=shop.lab(f"Lab {number}"))
    order = sent()
    client, lab = caller(), lab_caller("Quay Street Lab")
    for asked in (client, lab):  # the visits are begun
        asked.get(reverse("api-order-list"))
        asked.get(reverse("api-lab-order-list"))
    with django_assert_max_num_queries(6):
        assert len(client.get(reverse("api-order-list")).json()["results"]) == 9
    with django_assert_max_num_queries(15):
        client.get(at("detail", order))
    with django_assert_max_num_queries(6):
        lab.get(reverse("api-lab-order-list"))


@pytest.mark.parametrize("accept", ["application/pdf", "application/json", "*/*"])
def test_a_pdf_may_be_asked_for_by_its_form_and_a_refusal_is_still_a_problem(accept: str) -> None:
    order, client = sent(), caller()
    answer = client.get(at("pdf", order), HTTP_ACCEPT=accept)
    assert (answer.status_code, answer.content[:5]) == (200, b"%PDF-")
    refused = client.get(at("pdf", shop.draft()), HTTP_ACCEPT=accept)
    assert not faults(refused, 409)
    assert refused.json()["detail"] == "A draft has no frozen document yet."


def test_a_lab_asks_for_a_pdf_by_its_form() -> None:
    client, order = APIClient(), sent()
    token = issue_lab_token(lab=shop.lab(), actor=person("ines"))
    address = reverse("api-lab-order-pdf", args=[order.public_id])
    answer = client.get(address, HTTP_ACCEPT="application/pdf", HTTP_AUTHORIZATION=f"Bearer {token}")
    assert (answer.status_code, answer.content[:5]) == (200, b"%PDF-")


def test_a_misspelt_key_of_an_event_is_a_fault_and_notes_nothing() -> None:
    order = sent()
    before = order.events.count()
    answer = caller().post(at("events", order), {"kind": "note", "noet": "late"})
    assert faults(answer) == {"noet": "Unknown key."}
    assert order.events.count() == before
