"""Two web processes and two senders behind the example for nginx, on one PostgreSQL: slow clients, large bodies, kills.

PostgreSQL only: that is what several processes share. The wait for slow requests is 1 s here, 10 s in the example.
"""

from __future__ import annotations

import http.client
import json
import signal
import ssl
import sys
from collections.abc import Iterator
from contextlib import closing

import pytest
from axes.models import AccessAttempt
from django.contrib.auth.hashers import PBKDF2PasswordHasher
from django.urls import reverse

from dispensing.models import Patient
from orders.models import Delivery, Order
from tests.deployment.stack import EXAMPLE, METRICS_TOKEN, Browser, Stack, started, until
from tests.known import there
from tests.orders import shop
from tests.people import person, signed_in

pytestmark = [pytest.mark.postgres, pytest.mark.django_db(transaction=True)]
WAIT_S = 1
OWN_PASSWORD = "lamp oil and quiet mornings"  # that of the demo opens nothing there


@pytest.fixture(scope="module")
def stack(tmp_path_factory: pytest.TempPathFactory, django_db_setup: None) -> Iterator[Stack]:
    with Stack(tmp_path_factory.mktemp("stack"), WAIT_S).running() as running:
        yield running


def signs_in(stack: Stack, username: str) -> Browser:
    """By the password, stored as an installation does it, where the tests use a quicker way."""
    user = person(username)
    user.password = PBKDF2PasswordHasher().encode(OWN_PASSWORD, "salt-of-the-test")
    user.save(update_fields=["password"])
    browser = Browser(stack)
    status, _, then = browser.post("/sign-in/", {"username": username, "password": OWN_PASSWORD})
    assert (status, then) == (302, "/")
    return browser


def has_signed_in(stack: Stack, username: str) -> Browser:
    """In a process that is no longer asked: the session lies in the database."""
    browser = Browser(stack)
    browser.cookies["sessionid"] = signed_in(username).cookies["sessionid"].value
    return browser


def half_sent(stack: Stack, text: str) -> ssl.SSLSocket:
    line = stack.socket()
    line.sendall(text.encode())
    return line


HALF_A_HEADER = "GET /sign-in/ HTTP/1.1\r\nHost: localhost\r\nX-Half: "
HALF_A_BODY = (
    "POST /sign-in/ HTTP/1.1\r\nHost: localhost\r\nContent-Length: 500\r\n"
    "Content-Type: application/x-www-form-urlencoded\r\n\r\nusername="
)


@pytest.mark.parametrize("count", [4, 40])
def test_half_sent_requests_keep_nobody_waiting_and_are_cut_off(stack: Stack, count: int) -> None:
    lines = [half_sent(stack, text) for text in [HALF_A_HEADER, HALF_A_BODY] * (count // 2)]
    status, text, _ = Browser(stack).ask("GET", "/sign-in/")
    assert status == 200
    assert "Sign in" in text
    for line in lines:  # ends when nginx closes, after the wait and not before it
        answer = line.recv(1000)
        assert answer == b"" or answer.startswith(b"HTTP/1.1 408")
        line.close()


def test_the_example_waits_ten_seconds_for_a_header_and_between_two_parts_of_a_body() -> None:
    site = EXAMPLE.read_text().split("listen 443")[1]
    assert "client_header_timeout 10s;" in site
    assert "client_body_timeout 10s;" in site


def test_who_guesses_is_counted_by_what_the_proxy_saw_and_not_by_what_they_write(stack: Stack) -> None:
    person("dora")
    said = {"X-Forwarded-For": "203.0.113.9, 198.51.100.7"}
    Browser(stack).post("/sign-in/", {"username": "dora", "password": "wrong"}, **said)
    assert AccessAttempt.objects.get().ip_address == "127.0.0.1"


@pytest.mark.parametrize(
    ("path", "size", "status"),
    [
        ("/sign-in/", 64 * 1024 + 1, 413),
        ("/patients/find/", 5 * 1024**2 + 1, 413),
        ("/labs/prices/", 5 * 1024**2 + 1, 100),
        ("/labs/prices/", 100 * 1024**2 + 1, 413),
    ],
)
def test_an_oversized_body_is_refused_by_the_proxy_before_it_is_sent(
    stack: Stack, path: str, size: int, status: int
) -> None:
    line = half_sent(
        stack, f"POST {path} HTTP/1.1\r\nHost: localhost\r\nContent-Length: {size}\r\nExpect: 100-continue\r\n\r\n"
    )
    assert line.recv(100).startswith(f"HTTP/1.1 {status} ".encode())
    line.close()


def asked_itself(port: int, path: str, headers: dict[str, str]) -> str:
    """What a web process says to a program on its own machine, without the proxy."""
    with closing(http.client.HTTPConnection("127.0.0.1", port)) as line:
        line.request("GET", path, headers=headers)
        return line.getresponse().read().decode()


def test_the_proxy_sees_who_is_ready_and_the_metrics_of_both_processes_add_up(stack: Stack) -> None:
    browser, token = Browser(stack), {"Authorization": f"Bearer {METRICS_TOKEN}"}
    status, text, _ = browser.ask("GET", "/ready/")
    assert (status, json.loads(text)["ready"]) == (200, True)
    counted = 'datumline_requests_total{method="GET",page="health",status="200"}'

    def by_now() -> float:
        told = [asked_itself(port, "/metrics/", token).splitlines() for port in stack.web_ports]
        return sum(float(line.split()[-1]) for lines in told for line in lines if line.startswith(counted))

    before = by_now()
    for _ in range(4):
        assert browser.ask("GET", "/health/")[0] == 200
    assert by_now() == before + 4
    assert browser.ask("GET", "/metrics/")[0] == 404


def test_the_job_goes_on_when_a_web_process_and_a_sender_are_killed(stack: Stack) -> None:
    draft = shop.draft()
    command = [sys.executable, "manage.py", "send_orders", "--watch", "--pause", "0.05"]
    senders = [started(command, stack.environ, stack.log) for _ in range(2)]
    try:
        dora, ravi, ines = signs_in(stack, "dora"), has_signed_in(stack, "ravi"), has_signed_in(stack, "ines")
        _, page, _ = dora.ask("GET", "/")
        sheet = there(page.split('href="/static/dispensing/css/base.')[1].split('"')[0])
        assert len(sheet.split(".")[0]) == 12, "the style sheet's name has the hash of what is in it"
        assert dora.ask("GET", f"/static/dispensing/css/base.{sheet}")[0] == 200

        stack.web[0].send_signal(signal.SIGKILL)
        senders[0].send_signal(signal.SIGKILL)
        for process in (stack.web[0], senders[0]):
            process.wait()
        typed = {"family_name": "Bláthnaid", "given_names": "Róisín", "born_on": "2.4.1968"}
        status, text, then = dora.post("/patients/new/", typed)
        assert status == 302, text
        assert then == reverse("patient-page", args=[Patient.objects.get(family_name="Bláthnaid").public_id])
        assert "Róisín" in dora.ask("GET", then)[1]

        address = reverse("order-send", args=[draft.public_id])
        status, text, _ = ravi.post(address, {"version": str(Order.objects.get(pk=draft.pk).version)})
        assert status == 302, text
        until(lambda: Delivery.objects.filter(state="sent").count() == 1)
        mails = list((stack.folder / "data" / "outgoing-mail").iterdir())
        assert [draft.number in mail.read_text() for mail in mails] == [True]
        assert draft.number in ines.ask("GET", "/orders/")[1]
    finally:
        for sender in senders:
            sender.kill()
            sender.wait()
