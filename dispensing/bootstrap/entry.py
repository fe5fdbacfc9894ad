"""Decides what must be set up before a command runs, and continues inside ``.venv``.

Runs before every command, so the common case (all is there) costs two small file reads and no import
beyond ``os`` and ``sys``.
"""

from __future__ import annotations

import os

from dispensing.bootstrap import environment

RUNTIME_LOCK = "requirements.txt"
TEST_LOCK = "requirements-dev.txt"


def prepare(argv: list[str]) -> None:
    """Returns inside an interpreter that can run the command in `argv`; may install or re-execute to get there."""
    if not is_wanted():
        return
    command = argv[1] if len(argv) > 1 else "help"
    asks_for_help = any(word in {"-h", "--help"} for word in argv[2:])
    if command in {"demo", "test"} and not asks_for_help:
        _set_up_in_full(command)
    elif not _can_run_as_it_is():
        environment.ensure(RUNTIME_LOCK)
    environment.enter()


def is_wanted() -> bool:
    """Whether to set anything up: not in production (secret key and database given), nor when told to keep out."""
    if os.environ.get("DATUMLINE_BOOTSTRAP") == "0":
        return False
    return not ("SECRET_KEY" in os.environ and "DATABASE_URL" in os.environ)


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
