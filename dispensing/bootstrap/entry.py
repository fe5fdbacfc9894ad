"""Decides what must be set up before a command runs, and continues inside ``.venv``.

Runs before every command, so the common case (all is there) costs two small file reads and no import
beyond ``os`` and ``sys``.
"""

from __future__ import annotations

import os
import sys

from dispensing.bootstrap import environment

RUNTIME_LOCK = "requirements.txt"
TEST_LOCK = "requirements-dev.txt"
OF_A_REAL_INSTALLATION = ("DATABASE_URL", "SECRET_KEY", "ALLOWED_HOSTS")


def prepare(argv: list[str]) -> None:
    """Returns inside an interpreter that can run the command in `argv`; may install or re-execute to get there."""
    command = argv[1] if len(argv) > 1 else "help"
    if not is_wanted(command):
        return
    asks_for_help = any(word in {"-h", "--help"} for word in argv[2:])
    if command in {"demo", "test"} and not asks_for_help:
        _set_up_in_full(command)
    elif not _can_run_as_it_is():
        environment.ensure(RUNTIME_LOCK)
    environment.enter()


def is_wanted(command: str) -> bool:
    """Whether to set anything up: not for a real installation, of which one setting is enough to know it by, nor when
    told to keep out. The tests may be given a database of their own.
    """
    if os.environ.get("DATUMLINE_BOOTSTRAP") == "0":
        return False
    given = [name for name in OF_A_REAL_INSTALLATION if name in os.environ]
    return not given or (command == "test" and given == ["DATABASE_URL"])


def without_django() -> str:
    """What to say where a command cannot run because nothing may be installed by itself; enters ``.venv`` if there is
    one, and then never returns.
    """
    environment.enter()
    given = next((name for name in OF_A_REAL_INSTALLATION if name in os.environ), "DATUMLINE_BOOTSTRAP")
    return (
        f"Django is not installed for {sys.executable}. {given} is set, so this is a real installation, and nothing is "
        f"installed by itself. Run these two lines, then start again:\n\n    {sys.executable} -m venv .venv\n"
        f"    .venv/bin/pip install --require-hashes --no-deps -r {RUNTIME_LOCK}\n"
    )


def _can_run_as_it_is() -> bool:
    if environment.is_fresh(RUNTIME_LOCK):
        return True
    from importlib.util import find_spec

    return environment.is_entered() and find_spec("django") is not None


def _set_up_in_full(command: str) -> None:
    from dispensing.bootstrap import system_packages

    needs = system_packages.FOR_TESTS if command == "test" else system_packages.FOR_PAGES_AND_PDF
    system_packages.ensure(needs)
    environment.ensure(TEST_LOCK if command == "test" else RUNTIME_LOCK)
