"""The sample lab verifies, takes each order once, asks and reports; and speaks with a practice, for real."""

from __future__ import annotations

import hashlib
import json
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.urls import reverse
from pytest_django import Settings
from pytest_django.live_server_helper import LiveServer
from standardwebhooks import Webhook

from orders.demo.lab.sample_lab import DAYS_TO_MAKE, SampleLab
from orders.demo.lab.server import LabServer
from orders.models import Delivery, Lab, Order
from orders.progress import EventKind
from orders.sending import worker
from orders.services.cancelling import cancel_order
from orders.services.events import record_event
from orders.services.lab_secrets import make_secret
from orders.services.sending import send_order
from tests.known import there
from tests.orders import shop

SECRET = "whsec_" + "QUJD" * 8
NOW = datetime.now(UTC)  # of each test
SECONDS_AT_MOST = 60
ROOT = Path(__file__).resolve().parents[3]


@pytest.fixture(autouse=True)
def _now(monkeypatch: pytest.MonkeyPatch) -> None:
    """A signature holds for a few minutes, and this file may have been read long before its tests run."""
    monkeypatch.setitem(globals(), "NOW", datetime.now(UTC))


def lab(ask_every: int = 0) -> SampleLab:
    return SampleLab(SECRET, ask_every=ask_every, pause=timedelta(seconds=1))


def post(
    to: SampleLab, kind: str, key: str = "order_1", secret: str = SECRET, **data: Any
) -> tuple[int, dict[str, Any]]:
    body = json.dumps({"type": f"lens_order.{kind}", "data": data})
    headers = {
        "Webhook-Id": key,
        "Webhook-Timestamp": str(int(NOW.timestamp())),
        "Webhook-Signature": Webhook(secret).sign(key, NOW, body),
    }
    return to.receive(headers, body.encode(), NOW)


def order(number: str = "D-00001", **changes: Any) -> dict[str, Any]:
    document = json.dumps({"format": "lens-order/1", "number": number, "revision": 1})
    sha256 = hashlib.sha256(document.encode()).hexdigest()
    return {"number": number, "revision": 1, "document": document, "sha256": sha256} | changes


def heard(of: SampleLab, after: float = 0, status: int = 201) -> list[str]:
    """What the lab reports up to so many seconds later, when the practice answers so."""
    done = of.report_due(NOW + timedelta(seconds=after), lambda headers, body: status)
    return [report.kind for report, _ in done]


def test_an_order_is_taken_once_and_its_job_goes_on_by_itself() -> None:
    one = lab()
    assert post(one, "sent", **order()) == (200, {"taken": True, "job_number": "L-0001"})
    assert post(one, "sent", **order()) == (200, {"taken": True, "duplicate": True})
    assert len(one.jobs) == 1
    assert heard(one) == []
    accepted = one.reports[0]
    assert accepted.said["promised_on"] == (NOW + timedelta(days=DAYS_TO_MAKE)).date().isoformat()
    assert accepted.said["job_number"] == "L-0001"
    assert heard(one, 1) == ["accepted"]
    assert heard(one, 9) == ["dispatched"]
    assert heard(one, 99) == []


@pytest.mark.parametrize(
    ("posted", "status"),
    [
        ({"kind": "sent", "secret": "whsec_" + "WFla" * 8, **order()}, 401),
        ({"kind": "sent", **order(sha256="0" * 64)}, 422),
        ({"kind": "lost", **order()}, 400),
    ],
)
def test_what_is_not_signed_not_whole_or_not_known_is_not_taken(posted: dict[str, Any], status: int) -> None:
    one = lab()
    assert post(one, **posted)[0] == status
    assert (one.taken, one.jobs, one.reports) == (set(), {}, [])
    assert post(one, "sent", **order())[0] == 200, "and the same key is free for the right one"


def test_every_third_order_is_asked_about_and_goes_on_once_answered() -> None:
    one = lab(ask_every=3)
    for number in range(1, 4):
        post(one, "sent", f"order_{number}", **order(f"D-0000{number}"))
    assert heard(one, 1) == ["accepted", "accepted", "query"]
    post(one, "answered", "answer_1", number="D-00003", revision=1, answer="Enclosed.")
    assert [report.kind for report in one.reports if report.said["number"] == "D-00003"] == ["accepted", "dispatched"]


def test_a_withdrawn_order_is_not_made_and_acknowledged_also_if_the_withdrawal_comes_first() -> None:
    one, other = lab(), lab()
    post(one, "sent", **order())
    post(one, "withdrawn", "withdrawal_1", number="D-00001", revision=1)
    assert heard(one, 99) == ["acknowledged"]
    post(other, "withdrawn", "withdrawal_1", number="D-00001", revision=1)
    assert post(other, "sent", **order()) == (200, {"taken": True, "made": False})
    assert other.jobs == {}
    assert heard(other, 99) == ["acknowledged"]


@pytest.mark.parametrize(("status", "again"), [(201, False), (200, False), (409, False), (0, True), (500, True)])
def test_a_report_is_made_again_under_its_key_until_the_practice_has_answered(status: int, again: bool) -> None:
    one = lab()
    post(one, "withdrawn", "withdrawal_1", number="D-00001", revision=1)
    key = one.reports[0].key
    assert heard(one, 1, status) == ["acknowledged"]
    assert [report.key for report in one.reports] == ([key] if again else [])


# The whole dialogue


@pytest.fixture
def practice(live_server: LiveServer, settings: Settings) -> LiveServer:
    settings.LABS_ON_THIS_MACHINE = True
    return live_server


def until(what: Callable[[], bool]) -> None:
    """Look again and again until it is so."""
    deadline = time.monotonic() + SECONDS_AT_MOST
    look = threading.Event()
    while not what():
        assert time.monotonic() < deadline, "It did not happen."
        look.wait(0.05)


def told(order: Order) -> list[str]:
    return list(order.events.order_by("pk").values_list("kind", flat=True))


@pytest.mark.django_db(transaction=True)
def test_practice_and_lab_speak_with_each_other_from_order_to_parcel(practice: LiveServer) -> None:
    shop.lab()
    secret = make_secret(lab=shop.lab(), actor=None)
    sample = SampleLab(secret, ask_every=2, pause=timedelta(0))
    address = practice.url + reverse("api-lab-callback", args=[shop.lab().public_id])
    with LabServer(0, sample, address, lambda text: None).running() as server:
        Lab.objects.update(way="https", url=server.url)
        made, asked, dropped = (shop.draft(patient=shop.patient(f"P-9005{number}")) for number in range(3))
        for one in (made, asked):
            send_order(order=one, actor=shop.dispenser(), version=1)
        worker.send_due()
        until(lambda: told(made)[2:] == ["accepted", "dispatched"])
        until(lambda: told(asked)[2:] == ["query"])
        first = there(made.events.select_related("lab_word").get(kind="accepted"))
        assert first.job_number == "L-0001"
        assert there(Order.objects.get(pk=made.pk).promised_on) == first.promised_on
        record_event(order=asked, kind=EventKind.ANSWER, actor=shop.dispenser(), note="The frame is enclosed.")
        worker.send_due()
        until(lambda: told(asked)[2:] == ["query", "answer", "accepted", "dispatched"])
        sample._pause = timedelta(hours=1)
        send_order(order=dropped, actor=shop.dispenser(), version=1)
        worker.send_due()
        sample._pause = timedelta(0)
        cancel_order(order=Order.objects.get(pk=dropped.pk), actor=shop.dispenser(), reason="Not wanted")
        worker.send_due()
        until(lambda: told(dropped)[2:] == ["cancelled", "acknowledged"])
    assert set(Delivery.objects.values_list("state", flat=True)) == {"sent"}
    assert [len(sample.jobs), len(sample.taken)] == [3, 5]


@pytest.mark.django_db
def test_the_sample_lab_is_for_the_demo_only(settings: Settings) -> None:
    settings.PRODUCTION = True
    with pytest.raises(CommandError, match="The sample lab is for the demo"):
        call_command("demo_lab")
    settings.PRODUCTION = False
    with pytest.raises(CommandError, match="Start the demo first"):
        call_command("demo_lab")


PROGRAM = """
import json, sys
from django.conf import settings
import tests.settings as own
values = {name: getattr(own, name) for name in dir(own) if name.isupper()}
values["DATABASES"]["default"] = json.loads(sys.argv[1])
values["PRODUCTION"] = False
settings.configure(**values)
import django
django.setup()
from django.core.management import call_command
call_command("demo_lab", "--port", "0")
"""


@pytest.mark.django_db(transaction=True)
def test_while_it_runs_orders_are_posted_to_it_and_afterwards_go_as_before() -> None:
    lab, beside = shop.lab(), shop.lab("Far Lab")
    wanted = ("ENGINE", "NAME", "USER", "PASSWORD", "HOST", "PORT", "OPTIONS")
    database = json.dumps({name: connection.settings_dict[name] for name in wanted}, default=str)
    process = subprocess.Popen(
        [sys.executable, "-c", PROGRAM, database], cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    )
    too_long = threading.Timer(SECONDS_AT_MOST, process.kill)
    too_long.start()
    with process:
        said = there(process.stdout).readline()
        lab.refresh_from_db()
        during = lab.way, lab.url
        process.send_signal(signal.SIGTERM)
        said += there(process.stdout).read()
    too_long.cancel()
    assert process.returncode == 0, said
    assert during == ("https", said.split("takes orders at ")[1].split(" ")[0])
    lab.refresh_from_db()
    beside.refresh_from_db()
    assert (lab.way, lab.url, lab.secrets.count()) == ("email", "", 1)
    assert (beside.way, beside.secrets.count()) == ("email", 0)
