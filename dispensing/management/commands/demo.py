"""``manage.py demo``: the invented practice, served on this machine alone, with the worker that sends orders beside it.

Sets up the embedded database only. ``load_demo`` decides what the practice holds and ``send_orders`` how orders are
sent; both are called by name.
"""

from __future__ import annotations

import contextlib
import json
import shutil
import signal
import socket
import subprocess
import sys
from argparse import ArgumentParser
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.auth import get_user_model
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connection
from django.db.utils import OperationalError

from dispensing.fonts import require_fonts
from dispensing.roles import Role
from dispensing.web_server import serve

HOST = "127.0.0.1"
PORTS_TRIED = 50
# Beside the database: says that it holds the demo practice, so that --fresh never deletes a real one, and whether it
# was completely set up.
MARK = "holds-the-demo-practice"
HALF_MADE, MADE = "half made", "made"
SECONDS_TO_STOP = 5


class Command(BaseCommand):
    help = "Sets up the demo practice, serves it on this machine, and says the address and the sign-ins."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--port", type=int, default=8000, help="the port to start looking for a free one at")
        parser.add_argument("--fresh", action="store_true", help="throw the demo practice away and make it anew")

    def handle(self, *args: Any, port: int, fresh: bool, **options: Any) -> None:
        if settings.PRODUCTION:
            raise CommandError(
                "DATABASE_URL is set, so this is a real installation. Unset it to see the demo practice."
            )
        require_fonts()
        mark = settings.DATA_DIR / MARK
        if fresh or (mark.exists() and mark.read_text() == HALF_MADE):
            _throw_away(mark)
        self._fill_the_database(mark)
        listener = _listening_socket(port)
        address = f"http://{HOST}:{listener.getsockname()[1]}/"
        with _outbox_worker():
            serve(listener, on_ready=lambda: self._announce(address))
        self.stdout.write("Stopped.")

    def _fill_the_database(self, mark: Path) -> None:
        call_command("migrate", verbosity=0, interactive=False)
        if _has_staff():
            return
        self.stdout.write("Making the demo practice …")
        mark.write_text(HALF_MADE)
        call_command("load_demo", stdout=self.stdout)
        mark.write_text(MADE)

    def _announce(self, address: str) -> None:
        lines = ["", f"Datumline runs at  {address}", ""]
        if (settings.DATA_DIR / MARK).exists():
            lines += ["Sign in as:", *_sign_ins()]
        else:
            lines += [f"The practice in {settings.DATA_DIR} is your own, not the demo: sign in as usual."]
        self.stdout.write("\n".join([*lines, "", "Stop with Ctrl-C."]))
        self.stdout.flush()


def _sign_ins() -> list[str]:
    facts = json.loads((settings.BASE_DIR / "fixtures" / "demo" / "practice.json").read_text(encoding="utf-8"))
    return [
        f"  {person['username']:<12} {facts['password']:<28} {Role(person['role']).label}" for person in facts["staff"]
    ]


def _has_staff() -> bool:
    """Whether the database has any staff. One without tables, such as other commands leave behind, has none."""
    try:
        return get_user_model().objects.exists()
    except OperationalError:
        return False


def _throw_away(mark: Path) -> None:
    database = Path(str(settings.DATABASES["default"]["NAME"]))
    if not mark.exists() and _has_staff():
        raise CommandError(
            f"{database} holds a practice that this command did not make, so it stays. "
            "To make a demo beside it, set DATUMLINE_DATA_DIR to another folder."
        )
    connection.close()
    for path in (database, Path(f"{database}-wal"), Path(f"{database}-shm"), mark):
        path.unlink(missing_ok=True)
    for folder in (settings.MEDIA_ROOT, settings.EMAIL_FILE_PATH):
        shutil.rmtree(folder, ignore_errors=True)


def _listening_socket(first_port: int) -> socket.socket:
    """A socket on the first free port from `first_port` on."""
    for port in range(first_port, first_port + PORTS_TRIED):
        with contextlib.suppress(OSError):
            return socket.create_server((HOST, port), backlog=128)
    raise CommandError(f"No free port from {first_port} on. Name another with --port.")


@contextlib.contextmanager
def _outbox_worker() -> Iterator[None]:
    """Runs the program that sends what is in the outbox, for as long as the pages are served."""
    command = [sys.executable, str(settings.BASE_DIR / "manage.py"), "send_orders", "--watch"]
    # In a process group of its own: a Ctrl-C is meant for us, and we then stop the worker cleanly.
    worker = subprocess.Popen(  # noqa: S603
        command, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, start_new_session=True
    )
    try:
        yield
    finally:
        worker.send_signal(signal.SIGTERM)
        try:
            worker.wait(SECONDS_TO_STOP)
        except subprocess.TimeoutExpired:
            worker.kill()
            worker.wait()
