"""The log as JSON: one object a line, with the number of the request, and nothing of a patient in a whole journey."""

from __future__ import annotations

import io
import json
import logging
import re
from collections.abc import Iterator
from typing import Any

import pytest
from django.db import IntegrityError, connection
from django.test import Client, override_settings
from django.urls import reverse

from dispensing.models import Patient
from dispensing.watching.logs import AsJson, AsLine, WithRequest
from orders.models import Order, OrderDocument
from orders.sending.worker import send_due
from tests.orders import shop
from tests.people import PASSWORD, person, signed_in

# Not where they are used: the way of a fault through the code quotes the code itself.
NAMED, POWER = "Bláthnaid", "−2.25"


class Log:
    """What a handler of the installation would have written, of every logger and every level."""

    def __init__(self, formatter: logging.Formatter) -> None:
        self.stream = io.StringIO()
        self.handler = logging.StreamHandler(self.stream)
        self.handler.setFormatter(formatter)
        self.handler.addFilter(WithRequest())

    @property
    def text(self) -> str:
        return self.stream.getvalue()

    @property
    def lines(self) -> list[dict[str, Any]]:
        return [json.loads(line) for line in self.text.splitlines()]


@pytest.fixture(params=[AsJson, lambda: AsLine("{levelname} {name} [{request_id}]: {message}", style="{")])
def log(request: pytest.FixtureRequest) -> Iterator[Log]:
    written, root = Log(request.param()), logging.getLogger()
    # The database's own log of statements is off in an installation unless DEBUG is on; its values are typed ones.
    quiet, level = logging.getLogger("django.db.backends"), root.level
    quiet.propagate, root.level = False, logging.DEBUG
    root.addHandler(written.handler)
    yield written
    root.removeHandler(written.handler)
    quiet.propagate, root.level = True, level


def private(patient: Patient) -> list[str]:
    return [
        patient.family_name,
        patient.given_names,
        patient.reference,
        patient.born_on.isoformat(),
        patient.born_on.strftime("%d/%m/%Y"),
        "-2.25",
        POWER,
        "lens-order/1",
        PASSWORD,
    ]


@pytest.mark.django_db(transaction=True)
def test_a_whole_journey_leaves_nothing_of_a_patient_in_the_log(log: Log, monkeypatch: pytest.MonkeyPatch) -> None:
    draft = shop.draft()
    patient, desk, dispenser = draft.patient, signed_in("dora"), signed_in("ravi")
    person("dora")
    Client().post("/sign-in/", {"username": "dora", "password": PASSWORD + "!"})
    desk.post("/patients/find/", {"q": patient.family_name})
    desk.get(reverse("patient-page", args=[patient.public_id]))
    desk.post("/patients/new/", {"family_name": patient.family_name, "given_names": "", "born_on": "2.4.1985"})
    version = Order.objects.get(pk=draft.pk).version
    assert dispenser.post(reverse("order-send", args=[draft.public_id]), {"version": version}).status_code == 302
    assert send_due() == 1
    document = OrderDocument.objects.get()
    for view, key in (("order-page", draft), ("order-pdf", document), ("order-json", document)):
        assert dispenser.get(reverse(view, args=[key.public_id])).status_code == 200
    desk.get("/no/such/page/")
    desk.raise_request_exception = False

    def quotes_what_was_typed(*_: object, **__: object) -> None:
        try:
            Patient.objects.create(
                reference=patient.reference, family_name=patient.family_name, born_on=patient.born_on
            )
        except IntegrityError as fault:
            raise ValueError(f"{patient.family_name}, {patient.born_on}, {POWER}: {fault}") from fault

    monkeypatch.setattr("dispensing.views.patients.render", quotes_what_was_typed)
    assert desk.get("/patients/").status_code == 500
    assert [word for word in [*private(patient), document.text[:40]] if word in log.text] == []
    assert "builtins.ValueError" in log.text
    assert "quotes_what_was_typed" in log.text, "the way through the code is there"


@pytest.mark.django_db
def test_each_line_is_an_object_with_the_number_of_its_request(monkeypatch: pytest.MonkeyPatch) -> None:
    log, root = Log(AsJson()), logging.getLogger("datumline.test")

    def broken(*_: object, **__: object) -> None:
        root.warning("about to break")
        raise ZeroDivisionError

    monkeypatch.setattr("dispensing.views.patients.render", broken)
    desk = signed_in("dora")
    desk.raise_request_exception = False
    logging.getLogger().addHandler(log.handler)
    try:
        number = desk.get("/patients/").headers["X-Request-ID"]
        root.warning("outside any request")
    finally:
        logging.getLogger().removeHandler(log.handler)
    first, fault, outside = log.lines
    assert (first["level"], first["logger"], first["message"]) == ("WARNING", "datumline.test", "about to break")
    assert (first["request_id"], fault["request_id"], outside["request_id"]) == (number, number, "-")
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT[\d:.]+\+00:00", first["time"])
    assert fault["fault"].endswith("builtins.ZeroDivisionError")
    assert set(first) == {"time", "level", "logger", "message", "request_id"}


@pytest.mark.django_db
def test_a_fault_of_the_database_has_its_code_and_with_debug_its_words_as_well() -> None:
    for debug, words in ((False, False), (True, True)):
        log = Log(AsJson())
        logging.getLogger("datumline.test").addHandler(log.handler)
        try:
            with override_settings(DEBUG=debug), connection.cursor() as cursor:
                cursor.execute("SELECT 1")
                try:
                    raise OSError(28, f"No space for {NAMED}")
                except OSError:
                    logging.getLogger("datumline.test").exception("It broke")
        finally:
            logging.getLogger("datumline.test").removeHandler(log.handler)
        assert (NAMED in log.text) is words
        assert ("builtins.OSError (28)" in log.text) is not words
