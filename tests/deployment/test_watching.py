"""Health, readiness and metrics: who may ask, what they say, and that no patient is in it."""

from __future__ import annotations

import ipaddress
import os
import re
from datetime import timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.db import OperationalError
from django.db.migrations.executor import MigrationExecutor
from django.test import Client
from django.utils import timezone
from prometheus_client.parser import text_string_to_metric_families
from pytest_django import Settings

from dispensing.watching import ready
from orders.models import Delivery
from orders.sending.heartbeat import Heartbeat
from tests.builders import a_patient
from tests.known import there
from tests.orders import shop
from tests.people import signed_in

TOKEN = "a-token-of-the-program-that-watches"


def figures(client: Client) -> dict[tuple[str, tuple[str, ...]], float]:
    """Each sample by its name and the values of its labels, which stand in the order of their names."""
    answer = client.get("/metrics/", headers={"Authorization": f"Bearer {TOKEN}"})
    assert answer.headers["Content-Type"].startswith("text/plain")
    families = text_string_to_metric_families(answer.content.decode())
    return {(one.name, tuple(one.labels.values())): one.value for family in families for one in family.samples}


def test_health_asks_nothing_of_the_database_and_of_the_host_name() -> None:
    answer = Client().get("/health/", headers={"Host": "10.0.0.7:8001"})
    assert (answer.status_code, answer.content, answer.headers["Content-Type"]) == (200, b"alive\n", "text/plain")


def test_health_is_not_sent_to_https(settings: Settings) -> None:
    settings.SECURE_SSL_REDIRECT = True
    assert Client().get("/health/").status_code == 200
    assert Client().get("/sign-in/").status_code == 301


@pytest.mark.django_db
def test_a_process_is_ready_and_a_missing_sender_is_told_but_takes_nothing_away() -> None:
    answer = Client().get("/ready/")
    well = {"ready": True, "database": "ok", "migrations": "ok", "storage": "ok", "sender": "silent"}
    assert (answer.status_code, answer.json()) == (200, well)
    Heartbeat().beat(timezone.now())
    assert Client().get("/ready/").json()["sender"] == "ok"


@pytest.mark.django_db
def test_a_process_without_its_database_is_not_ready(monkeypatch: pytest.MonkeyPatch) -> None:
    def away() -> str:
        raise OperationalError("connection to 10.0.0.9 failed for user practice")

    monkeypatch.setitem(ready._checks, "database", (away, True))
    answer = Client().get("/ready/")
    assert (answer.status_code, answer.json()["database"]) == (503, "OperationalError")
    assert answer.json()["ready"] is False


@pytest.mark.django_db
def test_a_process_that_is_newer_than_its_database_is_not_ready_until_it_is_migrated(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    plan = MigrationExecutor.migration_plan
    check = ready._Migrations()
    monkeypatch.setattr(MigrationExecutor, "migration_plan", lambda *_: [("one", False), ("two", False)])
    assert check() == "2 not applied"
    monkeypatch.setattr(MigrationExecutor, "migration_plan", plan)
    assert check() == ""


def test_storage_must_take_a_file_and_have_room(
    settings: Settings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.DATA_DIR = tmp_path
    free = SimpleNamespace(f_bavail=ready.FEWEST_FREE_BYTES, f_frsize=1)
    monkeypatch.setattr(os, "statvfs", lambda _: free)
    assert ready.storage_can_be_written_to() == ""
    free.f_bavail -= 1
    assert ready.storage_can_be_written_to() == "almost full"
    settings.DATA_DIR = tmp_path / "gone"
    assert ready._asked(ready.storage_can_be_written_to) == "FileNotFoundError"


@pytest.mark.django_db
def test_metrics_are_for_named_addresses_or_a_token_and_do_not_exist_for_others(settings: Settings) -> None:
    settings.METRICS_FROM, settings.METRICS_TOKEN = [], ""
    assert signed_in("ines").get("/metrics/").status_code == 404
    assert Client().get("/metrics/", headers={"Authorization": "Bearer "}).status_code == 404
    settings.METRICS_TOKEN = TOKEN
    assert Client().get("/metrics/", headers={"Authorization": f"Bearer {TOKEN}x"}).status_code == 404
    assert figures(Client())
    settings.METRICS_FROM = [ipaddress.ip_network("10.1.0.0/16")]
    assert Client().get("/metrics/", REMOTE_ADDR="10.1.2.3").status_code == 200
    assert Client().get("/metrics/", REMOTE_ADDR="10.2.2.3").status_code == 404
    settings.TRUSTED_PROXIES = 1
    through = Client().get("/metrics/", REMOTE_ADDR="10.1.2.3", headers={"X-Forwarded-For": "203.0.113.9"})
    assert through.status_code == 404


@pytest.mark.django_db
def test_requests_count_by_page_and_status_and_no_patient_is_named(settings: Settings) -> None:
    settings.METRICS_TOKEN = TOKEN
    patient, desk = a_patient(), signed_in("dora")
    before = figures(desk)
    desk.get(f"/patients/{patient.public_id}/")
    desk.get("/patients/6f1b2c1e-8f0a-4a52-9d1c-0d6b8f4c2a11/")
    desk.get("/no/such/page/")
    after = figures(desk)

    def more(*labels: str) -> float:
        key = ("datumline_requests_total", labels)
        return after.get(key, 0) - before.get(key, 0)

    assert (more("GET", "patient-page", "200"), more("GET", "patient-page", "404")) == (1, 1)
    assert more("GET", "none", "404") == 1
    key = ("datumline_request_seconds_count", ("patient-page",))
    assert after[key] - before.get(key, 0) == 2
    said = " ".join(part for name, labels in after for part in (name, *labels))
    for private in (patient.family_name, patient.reference, str(patient.public_id)):
        assert private not in said


@pytest.mark.django_db
def test_orders_that_wait_count_by_their_age_each_once(settings: Settings) -> None:
    settings.METRICS_TOKEN = TOKEN
    ages = [timedelta(minutes=4), timedelta(minutes=6), timedelta(minutes=59), timedelta(hours=2), timedelta(days=2)]
    for age in ages:
        row = shop.delivery(shop.brought_to("sent"))
        Delivery.objects.filter(pk=row.pk).update(queued_at=timezone.now() - age)
    shop.delivery(shop.brought_to("sent"), "unknown")
    now = figures(Client())
    waiting = {labels[0]: value for (name, labels), value in now.items() if name == "datumline_orders_waiting"}
    assert waiting == {"5m": 1, "1h": 2, "1d": 1, "longer": 1}
    assert now[("datumline_deliveries", ("unknown",))] == 1
    assert not [name for name, _ in now if name == "datumline_sender_silent_seconds"]
    Heartbeat().beat(timezone.now() - timedelta(minutes=3))
    assert 179 < figures(Client())[("datumline_sender_silent_seconds", ())] < 300


@pytest.mark.django_db
def test_each_answer_has_a_number_and_only_a_proxy_may_choose_it(settings: Settings) -> None:
    asked = {"X-Request-ID": "0123456789abcdef"}
    own = Client().get("/health/", headers=asked).headers["X-Request-ID"]
    assert re.fullmatch(r"[0-9a-f]{32}", own)
    settings.TRUSTED_PROXIES = 1
    assert Client().get("/health/", headers=asked).headers["X-Request-ID"] == "0123456789abcdef"
    for wrong in ("short", "x" * 65, "a number\nwith a line"):
        assert Client().get("/health/", headers={"X-Request-ID": wrong}).headers["X-Request-ID"] != wrong


@pytest.mark.django_db
def test_the_page_of_a_fault_names_its_request(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("dispensing.views.patients.render", broken)
    desk = signed_in("dora")
    desk.raise_request_exception = False
    answer = desk.get("/patients/")
    assert answer.status_code == 500
    shown = there(re.search(r'class="figures">(\w+)<', answer.content.decode()))[1]
    assert shown == answer.headers["X-Request-ID"]
