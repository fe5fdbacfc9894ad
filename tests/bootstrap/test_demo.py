"""``manage.py demo`` as a newcomer meets it: one command, an address, the sign-ins, and Ctrl-C."""

from __future__ import annotations

import contextlib
import os
import re
import signal
import socket
import sqlite3
import subprocess
import sys
import urllib.request
from pathlib import Path
from typing import Any

import pytest

from dispensing.management.commands.demo import HALF_MADE, MADE, MARK
from tests.known import there

ROOT = Path(__file__).parents[2]
SECONDS_TO_STOP = 15


def environ_for(folder: Path) -> dict[str, str]:
    clean = {name: value for name, value in os.environ.items() if not name.startswith("DJANGO_")}
    return {**clean, "DATUMLINE_DATA_DIR": str(folder)}


class Demo:
    """A demo that runs until it is stopped, on a free port and in a folder of its own.

    Comes back once the demo has said ``until``.
    """

    def __init__(self, folder: Path, *arguments: str, until: str = "Ctrl-C") -> None:
        self.process = subprocess.Popen(
            [sys.executable, str(ROOT / "manage.py"), "demo", *arguments],
            env=environ_for(folder),
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        self.folder, self.said = folder, ""
        for line in there(self.process.stdout):
            self.said += line
            if until in line:
                return
        raise AssertionError(self.said + there(self.process.stderr).read())

    @property
    def address(self) -> str:
        return there(re.search(r"http://127\.0\.0\.1:\d+/", self.said))[0]

    def break_off(self) -> None:
        """As when the machine goes off."""
        self.process.kill()
        self.process.wait()

    def stop(self) -> int:
        self.process.send_signal(signal.SIGINT)
        return self.process.wait(SECONDS_TO_STOP)


def processes_about(folder: Path) -> list[str]:
    """The command lines of all processes that were given this data folder."""
    mark = f"DATUMLINE_DATA_DIR={folder}".encode()
    found = []
    for process in Path("/proc").glob("[0-9]*"):
        try:
            if mark in (process / "environ").read_bytes().split(b"\0"):
                found.append((process / "cmdline").read_text().replace("\0", " "))
        except OSError:
            continue
    return found


class LookedAt(Demo):
    """What was seen of one while it ran: how its first page answered, and the processes beside it."""

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        self.answer = urllib.request.urlopen(self.address).status
        self.beside = processes_about(folder)


@pytest.fixture(scope="module")
def first_run(tmp_path_factory: pytest.TempPathFactory) -> LookedAt:
    """The demo's first run in an empty folder: looked at while it ran, then stopped."""
    demo = LookedAt(tmp_path_factory.mktemp("demo"))
    assert demo.stop() == 0, there(demo.process.stderr).read()
    return demo


@pytest.fixture
def practice(first_run: LookedAt) -> Path:
    return first_run.folder


def test_the_first_start_makes_the_practice_and_says_address_and_sign_ins(first_run: LookedAt) -> None:
    assert first_run.answer == 200
    for word in ("Making the demo practice", "Sign in as:", "Front desk", "Dispenser", "Manager"):
        assert word in first_run.said


def test_the_worker_that_sends_orders_runs_beside_the_pages(first_run: LookedAt) -> None:
    assert any("send_orders --watch" in line for line in first_run.beside)


def rows(practice: Path, query: str) -> list[tuple[Any, ...]]:
    with contextlib.closing(sqlite3.connect(practice / "datumline.sqlite3")) as database:
        return database.execute(query).fetchall()


def patients_in(practice: Path) -> int:
    return int(rows(practice, "SELECT count(*) FROM dispensing_patient")[0][0])


def orders_in(practice: Path) -> int:
    return int(rows(practice, "SELECT count(*) FROM orders_order")[0][0])


def test_the_practice_holds_a_send_that_failed_and_one_held_back_and_the_rest_went_out(practice: Path) -> None:
    states = dict(rows(practice, "SELECT state, count(*) FROM orders_delivery GROUP BY state"))
    assert (states.pop("failed"), states.pop("withheld")) == (1, 1)
    assert set(states) == {"sent"}


def test_ctrl_c_leaves_no_process_behind(practice: Path) -> None:
    assert processes_about(practice) == []


def test_the_second_start_keeps_what_was_entered(practice: Path) -> None:
    second = Demo(practice)
    assert second.stop() == 0
    assert "Making the demo practice" not in second.said
    assert "Sign in as:" in second.said


def test_fresh_makes_the_practice_anew_and_once_more_when_that_was_broken_off(practice: Path) -> None:
    """One test, because filling a practice is slow: the second start makes what the first had thrown away."""
    whole, orders = patients_in(practice), orders_in(practice)
    Demo(practice, "--fresh", until="10 of ").break_off()
    assert patients_in(practice) >= 10
    assert orders_in(practice) < orders  # They come last, and take longest.
    assert (practice / MARK).read_text() == HALF_MADE
    anew = Demo(practice)
    assert anew.stop() == 0
    assert "Making the demo practice" in anew.said
    assert (patients_in(practice), orders_in(practice)) == (whole, orders)
    assert (practice / MARK).read_text() == MADE


def test_a_port_that_is_taken_is_passed_over(practice: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        demo = Demo(practice, "--port", str(port))
        assert demo.stop() == 0
    assert f":{port}/" not in demo.said


def manage(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, ROOT / "manage.py", *arguments], env=environ_for(folder), capture_output=True, text=True
    )


HIRE = "from django.contrib.auth import get_user_model; get_user_model().objects.create(username='owner')"


def test_fresh_never_throws_a_real_practice_away(tmp_path: Path) -> None:
    assert manage(tmp_path, "migrate").returncode == 0
    assert manage(tmp_path, "shell", "-c", HIRE).returncode == 0
    refused = manage(tmp_path, "demo", "--fresh")
    assert refused.returncode == 1
    assert "holds a practice that this command did not make, so it stays" in refused.stderr
    assert rows(tmp_path, "SELECT username FROM dispensing_staffuser") == [("owner",)]
