"""What the machine must have besides Python: how to test for it, and the Debian package that provides it.

Installs through apt-get if the user is allowed to; otherwise prints the one line to run, and stops. Also read by
``manage.py doctor``. Never asks for a password.
"""

from __future__ import annotations

import ctypes
import glob
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from dispensing.bootstrap import progress

POSTGRESQL_VERSIONS = Path("/usr/lib/postgresql")


@dataclass(frozen=True)
class Need:
    """One thing needed, what it is for, the test for it, and the Debian package that provides it."""

    name: str
    purpose: str
    package: str
    is_there: Callable[[], bool]


def _library(file_name: str) -> Callable[[], bool]:
    def is_there() -> bool:
        try:
            ctypes.CDLL(file_name)
        except OSError:
            return False
        return True

    return is_there


def _has_ensurepip() -> bool:
    # Debian ships venv without ensurepip's wheels; the whole module is then missing.
    from importlib.util import find_spec

    return find_spec("ensurepip") is not None


def dejavu_sans() -> str | None:
    """The path of DejaVuSans.ttf, or None. Looks where Debian puts it first, then anywhere else Linux keeps fonts."""
    usual = "/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf"
    if os.path.exists(usual):
        return usual
    for folder in ("/usr/share/fonts", "/usr/local/share/fonts", os.path.expanduser("~/.local/share/fonts")):
        for path in glob.iglob(f"{folder}/**/DejaVuSans.ttf", recursive=True):
            return path
    return None


def chromium() -> str | None:
    """The path of the Chromium that the browser tests drive, or None."""
    return shutil.which("chromium") or shutil.which("chromium-browser")


def nginx() -> str | None:
    """The path of nginx, or None. Debian puts it where only root looks."""
    return shutil.which("nginx") or shutil.which("nginx", path="/usr/sbin:/usr/local/sbin")


def postgresql() -> Path | None:
    """The folder of the programs of Debian's newest PostgreSQL that has its extension for similar text, or None."""
    found = {
        int(version.name): version / "bin"
        for version in POSTGRESQL_VERSIONS.glob("[0-9]*")
        if (version / "bin/postgres").exists() and (version / "lib/pg_trgm.so").exists()
    }
    return found[max(found)] if found else None


VENV_MODULE = Need(
    "Python's venv module",
    "making .venv",
    f"python{sys.version_info[0]}.{sys.version_info[1]}-venv",
    _has_ensurepip,
)
PANGO = Need("Pango", "drawing PDF pages", "libpangoft2-1.0-0", _library("libpangoft2-1.0.so.0"))
HARFBUZZ_SUBSET = Need(
    "HarfBuzz's subsetter",
    "PDF pages in a third of the time",
    "libharfbuzz-subset0",
    _library("libharfbuzz-subset.so.0"),
)
FONT = Need("the font DejaVu Sans", "the text of PDF pages", "fonts-dejavu-core", lambda: dejavu_sans() is not None)
CHROMIUM = Need("Chromium", "the browser tests", "chromium", lambda: chromium() is not None)
POSTGRESQL = Need("PostgreSQL", "the tests on the production database", "postgresql", lambda: postgresql() is not None)
LIBATOMIC = Need("libatomic", "the browser tests' driver", "libatomic1", _library("libatomic.so.1"))
NGINX = Need("nginx", "the tests of the proxy in front", "nginx-light", lambda: nginx() is not None)

FOR_VENV = (VENV_MODULE,)
FOR_PAGES_AND_PDF = (PANGO, HARFBUZZ_SUBSET, FONT)
FOR_TESTS = (*FOR_PAGES_AND_PDF, CHROMIUM, LIBATOMIC, POSTGRESQL, NGINX)


def missing(needs: Iterable[Need]) -> list[Need]:
    return [need for need in needs if not need.is_there()]


def install_line(needs: Iterable[Need]) -> str:
    packages = " ".join(need.package for need in needs)
    return f"sudo apt-get update && sudo apt-get install --no-install-recommends {packages}"


def ensure(needs: Iterable[Need]) -> None:
    """Installs what is missing, or ends the program with the command line that would."""
    lacking = missing(needs)
    if not lacking:
        return
    apt_get = _apt_get()
    if apt_get is not None:
        _install(apt_get, lacking)
        lacking = missing(lacking)
    if lacking:
        what = "; ".join(f"{need.name} (for {need.purpose})" for need in lacking)
        sys.exit(
            f"Missing on this machine: {what}.\nInstall it with this line, then start again:\n\n"
            f"    {install_line(lacking)}\n"
        )


def _apt_get() -> list[str] | None:
    """The start of an apt-get command line that this user may run without being asked anything."""
    if shutil.which("apt-get") is None:
        return None
    if os.geteuid() == 0:
        return ["apt-get"]
    if shutil.which("sudo") and subprocess.run(["sudo", "-n", "true"], capture_output=True).returncode == 0:  # noqa: S607
        return ["sudo", "-n", "--preserve-env=DEBIAN_FRONTEND", "apt-get"]
    return None


def _install(apt_get: list[str], needs: list[Need]) -> None:
    packages = [need.package for need in needs]
    title = f"Installing {' '.join(packages)} through apt-get"
    install = [*apt_get, "-o", "DPkg::Lock::Timeout=300", "install", "-y", "--no-install-recommends", *packages]
    quietly = {"DEBIAN_FRONTEND": "noninteractive"}
    # A fresh machine has no lists of packages, an old one may have stale ones.
    has_lists = bool(glob.glob("/var/lib/apt/lists/*_Packages*"))
    if has_lists and progress.attempt(title, install, quietly).returncode == 0:
        return
    progress.run("Fetching the lists of packages", [*apt_get, "update"], quietly)
    progress.run(title, install, quietly)
