"""The settings and the Python environment. The settings themselves report anything that stops the start."""

from __future__ import annotations

import re
from collections.abc import Iterator
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from django.conf import settings

from dispensing.bootstrap.entry import RUNTIME_LOCK
from dispensing.doctor.registry import Diagnosis, doctor_check, note, ok, wrong

SHORTEST_SECRET_KEY = 50
PIN = re.compile(r"([A-Za-z0-9._-]+)==([^ ;]+) \\")
PLACEHOLDERS = ("CHANGE-THIS", "DJANGO-INSECURE")


@doctor_check("settings")
def settings_are_fit() -> Iterator[Diagnosis]:
    if not settings.PRODUCTION:
        yield note(
            "embedded installation: SQLite, no HTTPS, this machine only",
            "For a real practice set DATABASE_URL, SECRET_KEY and ALLOWED_HOSTS.",
        )
        return
    if len(settings.SECRET_KEY) < SHORTEST_SECRET_KEY:
        yield wrong(
            f"SECRET_KEY has {len(settings.SECRET_KEY)} characters; at least {SHORTEST_SECRET_KEY} are needed",
            "Set a longer random one; everybody then signs in anew.",
        )
    if any(word in settings.SECRET_KEY.upper() for word in PLACEHOLDERS):
        yield wrong("SECRET_KEY is the one of an example, which everybody can read", "Set a random one of your own.")
    if settings.DEBUG:
        yield wrong("DEBUG is on, so faults show health data to anybody", "Unset DEBUG.")
    if "*" in settings.ALLOWED_HOSTS:
        yield wrong("ALLOWED_HOSTS admits any name", "Name the hosts this practice is reached at.")
    if not settings.SESSION_COOKIE_SECURE:
        yield wrong("HTTPS is off, so passwords travel in the open", "Unset HTTPS, and put the server behind TLS.")
    else:
        yield ok(f"served over HTTPS at {', '.join(settings.ALLOWED_HOSTS)}")
    if settings.TRUSTED_PROXIES:
        yield ok(f"{settings.TRUSTED_PROXIES} proxies in front are trusted to say who is asking")
    else:
        yield wrong(
            "no proxy is in front (TRUSTED_PROXIES is 0): a few half-sent requests would stop the server",
            "Put nginx or Caddy there, as in dispensing/deployment, and set TRUSTED_PROXIES to 1.",
        )
    if any(not network.prefixlen for network in settings.METRICS_FROM):
        yield wrong("METRICS_FROM admits any address", "Name those of the programs that watch this server.")
    if not (Path(settings.STATIC_ROOT or ".") / "staticfiles.json").exists():
        yield wrong("the static files are not collected, so pages have no layout", "Run: manage.py collectstatic")


@doctor_check("python")
def packages_match_the_lock() -> Iterator[Diagnosis]:
    others = sorted(name for name, wanted in _locked() if _installed(name) != wanted)
    if others:
        named = ", ".join(others[:3]) + (" …" if len(others) > 3 else "")
        by_hand = f".venv/bin/pip install --require-hashes --no-deps -r {RUNTIME_LOCK}"
        yield wrong(
            f"{len(others)} of Python's packages are not those of {RUNTIME_LOCK} ({named})",
            f"Run: {by_hand if settings.PRODUCTION else 'python3 manage.py check'}",
        )
    else:
        yield ok(f"Python's packages are those of {RUNTIME_LOCK}")


def _locked() -> Iterator[tuple[str, str]]:
    """Name and version of each package that the lock has for every machine."""
    for line in (settings.BASE_DIR / RUNTIME_LOCK).read_text(encoding="utf-8").splitlines():
        found = PIN.fullmatch(line)
        if found:
            yield found[1], found[2]


def _installed(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return ""
