"""A real PostgreSQL for one test run: the machine's own, with the extensions that belong to it, and gone afterwards.

PostgreSQL refuses to run as root, so as root it is started as an unprivileged user; it listens on a socket in its
own temporary folder and on no port. Standard library only.
"""

from __future__ import annotations

import contextlib
import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from dispensing.bootstrap import system_packages

SECONDS_TO_START = 60
# Nothing of a test run need survive a power cut.
SPEED_BEFORE_SAFETY = {"fsync": "off", "synchronous_commit": "off", "full_page_writes": "off"}


@dataclass(frozen=True)
class Owner:
    """Whose processes the server's are: another user's when we are root, our own otherwise."""

    popen_options: dict[str, Any]
    uid: int
    gid: int


@contextlib.contextmanager
def running_server() -> Iterator[str]:
    """Starts a server with an empty cluster; yields the URL of its database; stops and deletes all."""
    owner = _owner()
    folder = Path(tempfile.mkdtemp(prefix="datumline-pg-", dir="/tmp"))  # not TMPDIR: a socket's path must be short
    try:
        os.chown(folder, owner.uid, owner.gid)
        binaries = _binaries()
        _make_cluster(binaries, folder, owner)
        with _server_process(binaries, folder, owner):
            yield f"postgres://tester@/postgres?host={folder}"
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _owner() -> Owner:
    if os.geteuid() != 0:
        return Owner({}, os.geteuid(), os.getegid())
    user = pwd.getpwnam("nobody")
    options = {"user": user.pw_uid, "group": user.pw_gid, "extra_groups": []}
    return Owner(options, user.pw_uid, user.pw_gid)


def _binaries() -> Path:
    """The folder of `initdb` and `postgres`: Debian's newest."""
    found = system_packages.postgresql()
    if found is None:
        raise RuntimeError("No PostgreSQL found. Start the tests with: python3 manage.py test")
    return found


def _make_cluster(binaries: Path, folder: Path, owner: Owner) -> None:
    command = [str(binaries / "initdb"), "--no-sync", "--auth=trust", "--username=tester"]
    where = ["--locale=C.UTF-8", "--encoding=UTF8", "--pgdata", str(folder / "data")]
    done = subprocess.run([*command, *where], cwd=folder, capture_output=True, text=True, **owner.popen_options)
    if done.returncode:
        raise RuntimeError(f"PostgreSQL's initdb failed:\n{done.stdout}{done.stderr}")


@contextlib.contextmanager
def _server_process(binaries: Path, folder: Path, owner: Owner) -> Iterator[None]:
    settings = {"listen_addresses": "", "unix_socket_directories": str(folder), **SPEED_BEFORE_SAFETY}
    command = [str(binaries / "postgres"), "-D", str(folder / "data")]
    command += [word for name, value in settings.items() for word in ("-c", f"{name}={value}")]
    log_path = folder / "log"
    with log_path.open("w") as log:
        process = subprocess.Popen(command, cwd=folder, stdout=log, stderr=log, **owner.popen_options)
    try:
        _wait_until_ready(process, [str(binaries / "pg_isready"), "--quiet", "--host", str(folder)], log_path)
        yield
    finally:
        process.send_signal(signal.SIGINT)  # The fast shutdown: does not wait for clients.
        try:
            process.wait(timeout=10)
        except subprocess.TimeoutExpired:
            process.send_signal(signal.SIGQUIT)
            process.wait()


def _wait_until_ready(process: subprocess.Popen[bytes], is_ready: list[str], log_path: Path) -> None:
    """Its socket is there before it lets anybody in, so it is asked."""
    deadline = time.monotonic() + SECONDS_TO_START
    while time.monotonic() < deadline and process.poll() is None:
        if subprocess.run(is_ready).returncode == 0:
            return
        time.sleep(0.05)
    raise RuntimeError(f"PostgreSQL did not start:\n{log_path.read_text()}")
