"""A sender lives on while its PostgreSQL is really stopped and started again, and sends what waits afterwards."""

from __future__ import annotations

import glob
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path

import psycopg
import pytest
from django.utils import timezone

from orders.models import Delivery
from tests.deployment.stack import database_url, environment, started, until
from tests.orders import shop
from tests.postgres import _owner, running_server

pytestmark = [pytest.mark.postgres, pytest.mark.django_db(transaction=True)]


def program(name: str) -> str:
    return sorted(glob.glob(f"/usr/lib/postgresql/*/bin/{name}"))[-1]


class Server:
    """A PostgreSQL of this test alone, with all that the test's own database holds."""

    def __init__(self, url: str) -> None:
        self.url, self.folder = url, url.rpartition("=")[2]
        dump = subprocess.run([program("pg_dump"), database_url()], capture_output=True, check=True).stdout
        subprocess.run([program("psql"), "-q", url], input=dump, capture_output=True, check=True)

    def control(self, *words: str) -> None:
        options = _owner().popen_options
        command = [program("pg_ctl"), "-D", f"{self.folder}/data", "-w", "-l", f"{self.folder}/log-again", *words]
        done = subprocess.run(command, cwd=self.folder, capture_output=True, text=True, **options)
        assert done.returncode == 0, done.stdout + done.stderr

    def stop(self) -> None:
        self.control("stop", "-m", "fast")

    def start(self) -> None:
        self.control("start", "-o", f"-c listen_addresses='' -c unix_socket_directories={self.folder}")

    def ask(self, query: str) -> list[tuple[object, ...]]:
        with psycopg.connect(self.url) as line:
            found = line.execute(query)
            return found.fetchall() if found.description else []


@contextmanager
def server() -> Iterator[Server]:
    with running_server() as url:
        own = Server(url)
        try:
            yield own
        finally:
            own.stop()


def test_a_sender_outlives_a_database_that_is_stopped_and_started(tmp_path: Path) -> None:
    waits, later = (shop.delivery(shop.brought_to("sent")) for _ in range(2))
    Delivery.objects.update(next_try_at=timezone.now() + timedelta(hours=12))
    log = tmp_path / "log"
    with server() as own:
        command = [sys.executable, "manage.py", "send_orders", "--watch", "--pause", "0.05"]
        sender = started(command, environment(tmp_path, DATABASE_URL=own.url), log)
        try:
            until(lambda: own.ask("SELECT count(*) FROM orders_sender") == [(1,)], log.read_text)
            own.stop()
            until(lambda: "The database does not answer" in log.read_text(), log.read_text)
            own.start()
            own.ask(f"UPDATE orders_delivery SET next_try_at = now() WHERE id = {waits.pk}")
            state = f"SELECT state FROM orders_delivery WHERE id = {waits.pk}"
            until(lambda: own.ask(state) == [("sent",)], log.read_text)
            assert own.ask(f"SELECT state FROM orders_delivery WHERE id = {later.pk}") == [("queued",)]
            assert len(os.listdir(tmp_path / "outgoing-mail")) == 1
            assert sender.poll() is None
        finally:
            sender.kill()
            sender.wait()
