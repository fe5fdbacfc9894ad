"""``manage.py send_orders`` as a process of its own: it finishes what it is doing and stops when told to."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from django.core.mail import EmailMessage
from django.core.management import call_command
from django.db import connection

from orders.models import Delivery
from orders.services.sending import send_order
from tests.known import there
from tests.orders import shop

ROOT = Path(__file__).resolve().parents[3]
SECONDS_AT_MOST = 120


@pytest.fixture
def delivery(transactional_db: None) -> Delivery:
    order = shop.draft()
    stored = send_order(order=order, actor=shop.dispenser(), version=order.version)
    return Delivery.objects.get(document=stored)


def test_once_it_sends_what_is_due_and_says_how_much(
    delivery: Delivery, capsys: pytest.CaptureFixture[str], mailoutbox: list[EmailMessage]
) -> None:
    call_command("send_orders")
    assert "1 delivery handled." in capsys.readouterr().out
    told = f"Lens order {delivery.document.number}, revision 1, from Harbour Lane Opticians, account 4711"
    assert [mail.subject for mail in mailoutbox] == [told]


PROGRAM = """
import json, sys
from django.conf import settings
import tests.settings as own
values = {name: getattr(own, name) for name in dir(own) if name.isupper()}
values["DATABASES"]["default"] = json.loads(sys.argv[1])
values["EMAIL_BACKEND"] = "django.core.mail.backends.filebased.EmailBackend"
values["EMAIL_FILE_PATH"] = sys.argv[2]
settings.configure(**values)
import django
django.setup()
from django.core.management import call_command
call_command("send_orders", "--watch", "--pause", "0.1")
"""


def _database() -> str:
    """The test's own database, as settings for another process."""
    wanted = ("ENGINE", "NAME", "USER", "PASSWORD", "HOST", "PORT", "OPTIONS")
    found = {name: connection.settings_dict[name] for name in wanted}
    return json.dumps(found, default=str)


def test_the_watching_sender_sends_and_stops_cleanly_on_sigterm(delivery: Delivery, tmp_path: Path) -> None:
    """Told to stop when the mail is out and not yet recorded as sent, it records that first."""
    process = subprocess.Popen(
        [sys.executable, "-c", PROGRAM, _database(), str(tmp_path)],
        cwd=ROOT,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    too_long = threading.Timer(SECONDS_AT_MOST, process.kill)
    too_long.start()
    said = ""
    with process:
        for line in there(process.stdout):
            said += line
            if line.endswith(f"{delivery.document} sent\n"):
                process.send_signal(signal.SIGTERM)
    too_long.cancel()
    assert process.returncode == 0, said
    assert "nothing is left half sent" in said
    assert Delivery.objects.get(pk=delivery.pk).state == "sent"
    assert len(list(tmp_path.iterdir())) == 1
