"""What the API really answers about real records fits the schema that its description gives for that call."""

from __future__ import annotations

import json
from typing import Any

import pytest
from django.urls import reverse
from drf_spectacular.generators import SchemaGenerator
from jsonschema import Draft202012Validator

from dispensing.models import PaperReading, PrescriptionScan
from orders.models import Order
from orders.services.sending import send_order
from tests.builders import a_prescription
from tests.contract.documents import a_catalogue, an_order
from tests.dispensing.api.callers import based_on, caller
from tests.dispensing.api.test_the_record_over_the_api import MARKS
from tests.orders import shop

pytestmark = pytest.mark.django_db
DESCRIPTION = SchemaGenerator().get_schema(request=None, public=True)  # type: ignore[no-untyped-call]  # untyped


def misfits(path: str, method: str, answer: Any) -> list[str]:
    """Where the answer and the description of its call part."""
    told = DESCRIPTION["paths"][path][method]["responses"][str(answer.status_code)]["content"]
    kind = answer.headers["Content-Type"].split(";")[0]
    schema = {**told[kind]["schema"], "components": DESCRIPTION["components"]}
    return [f"{e.json_path}: {e.message}" for e in Draft202012Validator(schema).iter_errors(json.loads(answer.content))]


def sent_order() -> Order:
    order = shop.draft()
    send_order(order=order, actor=shop.dispenser(), version=order.version)
    return Order.objects.get(pk=order.pk)


@pytest.mark.parametrize("make", [shop.draft, sent_order])
def test_a_whole_order_fits_as_a_draft_and_once_it_was_sent(make: Any) -> None:
    client, order = caller(), make()
    answer = client.get(reverse("api-order-detail", args=[order.public_id]))
    assert answer.status_code == 200
    assert misfits("/api/orders/{public_id}/", "get", answer) == []
    assert misfits("/api/orders/", "get", client.get(reverse("api-order-list"))) == []


@pytest.mark.parametrize("call", ["document", "pdf"])
def test_the_files_of_an_order_and_the_refusal_of_a_drafts_fit(call: str) -> None:
    client, path = caller(), f"/api/orders/{{public_id}}/{call}/"
    refused = client.get(reverse(f"api-order-{call}", args=[shop.draft().public_id]))
    assert misfits(path, "get", refused) == []
    if call == "document":
        assert misfits(path, "get", client.get(reverse("api-order-document", args=[sent_order().public_id]))) == []


@pytest.mark.parametrize(("headers", "status"), [({}, 428), (based_on(7), 412)])
def test_a_change_of_what_was_not_seen_fits(headers: dict[str, str], status: int) -> None:
    order = shop.draft()
    address = reverse("api-order-detail", args=[order.public_id])
    answer = caller().patch(address, {"remarks": "Mine"}, headers=headers)
    assert answer.status_code == status
    assert misfits("/api/orders/{public_id}/", "patch", answer) == []


def test_a_report_and_the_faults_of_documents_fit() -> None:
    client, address = caller(), reverse("api-check")
    for order in (an_order(), {"format": "lens-order/1"}, {}):
        answer = client.post(address, {"order": order, "catalogue": a_catalogue()})
        assert misfits("/api/check/", "post", answer) == []


def test_compared_lenses_and_the_faults_of_documents_fit() -> None:
    client, address = caller(), reverse("api-compare")
    for order in (an_order(), {"format": "lens-order/1"}, {}):
        answer = client.post(address, {"order": order, "catalogues": [a_catalogue()]})
        assert misfits("/api/compare/", "post", answer) == []


def test_a_verdict_on_a_finished_pair_fits() -> None:
    client, address = caller(), reverse("api-verify")
    for readings in ({"format": "finished-readings/1", "right": {"sphere": -3.0, "axis": 9}}, {}):
        answer = client.post(address, {"order": an_order(), "readings": readings})
        assert misfits("/api/verify/", "post", answer) == []


def test_compared_frames_and_the_faults_of_documents_fit() -> None:
    client, address = caller(), reverse("api-compare-frames")
    stock = {"format": "frame-stock/1", "frames": [{"model": "Alder", "a_mm": 50, "b_mm": 40, "dbl_mm": 18}]}
    for order in (an_order(), {"format": "lens-order/1"}, {}):
        answer = client.post(address, {"order": order, "catalogue": a_catalogue(), "stock": stock})
        assert misfits("/api/compare-frames/", "post", answer) == []


def test_readings_of_a_finished_pair_fit_in_the_answer_that_stores_them_and_in_their_list() -> None:
    client, order = caller(), sent_order()
    address, path = (
        reverse("api-order-finished-readings", args=[order.public_id]),
        "/api/orders/{public_id}/finished-readings/",
    )
    assert misfits(path, "get", client.get(address)) == []
    body = {"readings": {"format": "finished-readings/1", "right": {"sphere": -2.25, "axis": 9}}}
    refused = client.post(address, body)
    assert (refused.status_code, misfits(path, "post", refused)) == (409, [])
    order.documents.get().deliveries.update(state="sent")
    stored = client.post(address, body)
    assert (stored.status_code, misfits(path, "post", stored)) == (201, [])
    assert misfits(path, "get", client.get(address)) == []


def test_measured_marks_fit() -> None:
    assert misfits("/api/measure/", "post", caller().post(reverse("api-measure"), MARKS)) == []


@pytest.mark.parametrize("noun", ["patient", "prescription", "frame", "fitting"])
def test_the_record_fits_in_a_list_and_alone(noun: str) -> None:
    patient, frame = shop.patient(), shop.frame()
    shop.fitting(patient, frame)
    a_prescription(patient)
    client = caller()
    listed = client.get(reverse(f"api-{noun}-list"))
    assert misfits(f"/api/{noun}s/", "get", listed) == []
    alone = client.get(reverse(f"api-{noun}-detail", args=[listed.json()["results"][0]["public_id"]]))
    assert misfits(f"/api/{noun}s/{{public_id}}/", "get", alone) == []


def test_the_description_can_tell_an_answer_that_does_not_fit() -> None:
    answer = caller().get(reverse("api-order-list"))
    assert misfits("/api/orders/{public_id}/", "get", answer) != []


def test_a_scan_on_its_way_and_one_that_was_read_and_taken_in_fit() -> None:
    client, patient = caller("dora"), shop.patient()
    paper = PaperReading.objects.create(patient=patient, content_type="application/pdf")
    address = reverse("api-paper-detail", args=[paper.public_id])
    assert misfits("/api/papers/{public_id}/", "get", client.get(address)) == []
    read = {"typed": "", "text": "30/10/2026", "unsure": "", "snippet": "", "confidence": 0.9, "box": [1.0], "page": 1}
    scan = PrescriptionScan.objects.create(prescription=a_prescription(patient), content_type="application/pdf")
    found = [{"name": name, "value": value, **read} for name, value in (("axis", 170), ("tested_on", "2026-10-30"))]
    PaperReading.objects.update(state="read", found=[*found, {**found[0], "value": None}], scan=scan)
    answer = client.get(address)
    assert answer.json()["prescription"] == str(scan.prescription.public_id)
    assert misfits("/api/papers/{public_id}/", "get", answer) == []
