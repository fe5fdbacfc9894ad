"""Databases with a large practice each, loaded once for as many benchmarks as are wanted.

``python -m tests.benchmarks.practices 10000 1000000 [--on postgresql|sqlite]`` loads one of each size, prints the URLs,
and keeps all until it is interrupted. Benchmarks of large practices take these URLs in place of sizes.
"""

from __future__ import annotations

import argparse
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

import psycopg

from tests.postgres import running_server

ON = ("postgresql", "sqlite")


@contextmanager
def practices(wanted: Sequence[str], on: str = "postgresql") -> Iterator[list[str]]:
    """The URL of a loaded database for each size; what is a URL already is used as it is. Gone afterwards."""
    if all("://" in one for one in wanted):
        yield list(wanted)
        return
    with _server(on) as server:
        yield [_loaded(server, int(size)) for size in wanted]


def with_database(url: str) -> dict[str, str]:
    """The environment of a process that works on this database."""
    return {**os.environ, "DATABASE_URL": url, "DJANGO_SETTINGS_MODULE": "tests.settings"}


@contextmanager
def _server(on: str) -> Iterator[str]:
    """What comes before the name of a database in its URL, with a place for that name."""
    if on == "postgresql":
        with running_server() as url:
            yield url.replace("/postgres?", "/{}?")
        return
    folder = tempfile.mkdtemp(prefix="datumline-practices-")
    try:
        yield f"sqlite:///{folder}/{{}}.sqlite3"
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _loaded(server: str, size: int) -> str:
    name = f"practice_{size}"
    url = server.format(name)
    if server.startswith("postgres"):
        with psycopg.connect(server.format("postgres"), autocommit=True) as connection:
            connection.execute(f"CREATE DATABASE {name}")
    began = time.monotonic()
    command = [sys.executable, "-m", "tests.benchmarks.practices", "--fill", str(size)]
    subprocess.run(command, env=with_database(url), check=True)
    print(f"{size:,} patients written in {time.monotonic() - began:.0f} s", file=sys.stderr, flush=True)
    return url


def _fill(size: int) -> None:
    import django

    django.setup()
    from django.core.management import call_command

    from orders.services.counting import bring_up_to_date
    from tests.benchmarks.large_practice import fill

    call_command("migrate", verbosity=0)
    fill(size)
    bring_up_to_date()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("sizes", nargs="*", default=["10000", "1000000"])
    parser.add_argument("--on", choices=ON, default=ON[0])
    parser.add_argument("--fill", type=int, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.fill:
        _fill(asked.fill)
        return
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))  # so that the server is stopped too
    with practices(asked.sizes, asked.on) as urls:
        print(*urls, sep="\n", flush=True)
        signal.pause()


if __name__ == "__main__":
    main()
