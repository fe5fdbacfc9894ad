"""Makes ``.venv`` from a lock file, knows whether it is up to date, and re-executes inside it.

A stamp in ``.venv`` is the interpreter's path and a copy of the lock it was made from: if both are equal, it is up to
date. Knows nothing of commands or of Django.
"""

from __future__ import annotations

import os
import sys

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
VENV = os.path.join(ROOT, ".venv")
PYTHON = os.path.join(VENV, "bin", "python")


def is_entered() -> bool:
    return os.path.realpath(sys.prefix) == os.path.realpath(VENV)


def enter() -> None:
    """Runs this same command line again with the interpreter of ``.venv``; if it does so, it never returns."""
    if is_entered() or not os.path.exists(PYTHON):
        return
    sys.stdout.flush()
    sys.stderr.flush()
    os.execv(PYTHON, [PYTHON, *sys.orig_argv[1:]])  # noqa: S606 - our own interpreter, our own arguments


def is_fresh(lock: str) -> bool:
    """Whether ``.venv`` was made from exactly this lock, by the interpreter that it still links to."""
    try:
        with open(_stamp_path(lock), "rb") as stamp:
            return stamp.read() == _stamp(lock)
    except FileNotFoundError:
        return False


def ensure(lock: str) -> None:
    """Makes or completes ``.venv`` unless it is fresh. Two commands started together wait for each other."""
    if is_fresh(lock):
        return
    import fcntl

    with open(os.path.join(ROOT, lock), "rb") as turn:
        fcntl.flock(turn, fcntl.LOCK_EX)
        if not is_fresh(lock):
            _install(lock)


def _install(lock: str) -> None:
    from dispensing.bootstrap import progress, system_packages

    if not _works():
        system_packages.ensure(system_packages.FOR_VENV)
        progress.run(
            "Making .venv",
            [getattr(sys, "_base_executable", sys.executable), "-m", "venv", "--clear", VENV],
        )
    path = os.path.join(ROOT, lock)
    with open(path, encoding="utf-8") as lines:
        count = sum("==" in line for line in lines)
    # The lock is complete and hashed, so pip need not work out what depends on what; and only wheels, since
    # a bare machine has no compiler.
    pip = [PYTHON, "-m", "pip", "install", "--require-hashes", "--no-deps", "--only-binary", ":all:"]
    quiet = ["--no-input", "--disable-pip-version-check", "--progress-bar", "off", "-r", path]
    progress.run(f"Installing up to {count} packages named in {lock}", pip + quiet)
    _write_stamps(lock)


def _works() -> bool:
    """Whether ``.venv`` has an interpreter with pip; it has not if its Python was upgraded or removed."""
    import subprocess

    if not os.path.exists(PYTHON):
        return False
    return subprocess.run([PYTHON, "-c", "import pip"], capture_output=True).returncode == 0  # noqa: S603


def _write_stamps(lock: str) -> None:
    # The lock for tests holds every package of the one for use, at the same version; a test keeps that so.
    for name in {lock, "requirements.txt"}:
        with open(_stamp_path(name), "wb") as stamp:
            stamp.write(_stamp(name))


def _stamp_path(lock: str) -> str:
    return os.path.join(VENV, f"installed-{lock}")


def _stamp(lock: str) -> bytes:
    with open(os.path.join(ROOT, lock), "rb") as file:
        return os.fsencode(f"# {os.path.realpath(PYTHON)}\n") + file.read()
