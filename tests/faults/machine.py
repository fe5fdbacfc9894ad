"""The machine that things happen to: a small disk that can be filled, a PostgreSQL that can be stopped and killed, the
web processes and the senders.

PostgreSQL keeps what it commits (as a practice's does, where the test run's does not), so that whatever is lost was
lost by us. Its data and those of the installation lie on disks of their own, each a small tmpfs.
"""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

from tests import postgres

ROOT = Path(__file__).resolve().parents[2]
SERVER = {"listen_addresses": "", "max_wal_size": "64MB", "min_wal_size": "32MB", "wal_init_zero": "off"}
PAGE = 4096


@contextlib.contextmanager
def small_disk(folder: Path, megabytes: int) -> Iterator[Path]:
    """A disk of its own; needs the right to mount one."""
    folder.mkdir()
    subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={megabytes}m", "tmpfs", folder], check=True)
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", folder], check=True)


@contextlib.contextmanager
def full(disk: Path) -> Iterator[None]:
    """Nothing more goes onto this disk, not even a page, while the block runs."""
    filler = disk / "filler"
    try:
        with filler.open("wb", buffering=0) as file:
            for size in (256 * PAGE, PAGE):
                with contextlib.suppress(OSError):
                    while True:
                        file.write(bytes(size))
        yield
    finally:
        filler.unlink(missing_ok=True)


class Database:
    """A PostgreSQL of these rounds alone, on ``disk``."""

    def __init__(self, disk: Path) -> None:
        self.disk, self.owner = disk, postgres._owner()
        self.binaries, self.process = postgres._binaries(), None
        os.chown(disk, self.owner.uid, self.owner.gid)
        postgres._make_cluster(self.binaries, disk, self.owner)
        self.start()

    process: subprocess.Popen[bytes] | None

    @property
    def url(self) -> str:
        return f"postgres://tester@/postgres?host={self.disk}"

    def start(self) -> None:
        """Does nothing if it runs."""
        if self.process is not None and self.process.poll() is None:
            return
        settings = {**SERVER, "unix_socket_directories": str(self.disk)}
        command = [str(self.binaries / "postgres"), "-D", str(self.disk / "data")]
        command += [word for name, value in settings.items() for word in ("-c", f"{name}={value}")]
        log = self.disk.with_name("postgres-log")
        with log.open("a") as out:
            options = self.owner.popen_options
            self.process = subprocess.Popen(command, cwd=self.disk, stdout=out, stderr=out, **options)
        is_ready = [str(self.binaries / "pg_isready"), "--quiet", "--host", str(self.disk)]
        postgres._wait_until_ready(self.process, is_ready, log)

    def stop(self, by: signal.Signals = signal.SIGINT) -> None:
        """SIGINT: in good order, without waiting for clients. SIGQUIT: at once, as if it crashed."""
        if self.process is not None:
            self.process.send_signal(by)
            self.process.wait()

    def a_backend(self) -> int | None:
        """A process that works for one connection, if there is any."""
        assert self.process is not None
        for child in _children(self.process.pid):
            with contextlib.suppress(OSError):
                if b"[local]" in Path(f"/proc/{child}/cmdline").read_bytes():
                    return child
        return None


def _children(pid: int) -> list[int]:
    return [int(word) for word in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


class Processes:
    """The installation's own: gunicorn with its workers, and senders. Each is started again when it was killed."""

    def __init__(self, environ: dict[str, str], log: Path, port: int) -> None:
        self.environ, self.log, self.port = environ, log, port
        self.web = self.started("-m", "gunicorn", "-c", OWN_SETTINGS, "dispensing.wsgi")
        self.senders = [self._sender(), self._sender()]

    def started(self, *words: str, **environ: str) -> subprocess.Popen[bytes]:
        with self.log.open("ab") as out:
            own = {**self.environ, "WEB_BIND": f"127.0.0.1:{self.port}", **environ}
            return subprocess.Popen(
                [sys.executable, *words], cwd=ROOT, env=own, stdout=out, stderr=out, start_new_session=True
            )

    def _sender(self) -> subprocess.Popen[bytes]:
        return self.started("manage.py", "send_orders", "--watch", "--pause", "0.1")

    def kill_worker(self) -> bool:
        """One web worker, whatever it is doing; gunicorn makes another."""
        workers = _children(self.web.pid)
        if workers:
            with contextlib.suppress(ProcessLookupError):
                os.kill(workers[0], signal.SIGKILL)
        return bool(workers)

    def kill_web(self) -> None:
        os.killpg(self.web.pid, signal.SIGKILL)
        self.web.wait()
        self.web = self.started("-m", "gunicorn", "-c", OWN_SETTINGS, "dispensing.wsgi")

    def kill_sender(self, which: int) -> None:
        self.senders[which].kill()
        self.senders[which].wait()
        self.senders[which] = self._sender()

    def senders_stopped(self) -> list[int]:
        """Ask the senders to end, and start none; their exit codes, of which each must be 0."""
        for sender in self.senders:
            sender.terminate()
        return [sender.wait(120) for sender in self.senders]

    def senders_again(self) -> None:
        self.senders = [self._sender(), self._sender()]

    def end(self) -> None:
        for process in (self.web, *self.senders):
            with contextlib.suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGKILL)
            process.wait()


OWN_SETTINGS = "python:dispensing.deployment.gunicorn_settings"
