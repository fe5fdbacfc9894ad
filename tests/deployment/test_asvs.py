"""The table of what is met of ASVS names files and tests that there are, and says itself what is not met."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.conf import settings
from django.test import Client, override_settings

from tests.architecture.source_tree import ROOT

TABLE = ROOT / "dispensing" / "deployment" / "asvs.md"
ROWS = [
    [cell.strip() for cell in line.strip("|").split("|")]
    for line in TABLE.read_text().splitlines()
    if re.match(r"\| \d", line)
]


def is_there(name: str) -> bool:
    """A file or folder of the project, or a test in one."""
    path, _, test = name.partition("::")
    if not (ROOT / path).exists():
        return False
    return not test or re.search(rf"^def {test}\(", (ROOT / path).read_text(), re.M) is not None


def test_what_the_table_names_is_there() -> None:
    named = [(row[0], name) for row in ROWS for cell in row[2:4] for name in re.findall(r"`([^`]+)`", cell)]
    assert [(number, name) for number, name in named if not is_there(name)] == []
    assert not is_there("tests/deployment/test_asvs.py::test_that_nobody_wrote")


def test_each_row_says_what_where_and_by_which_test() -> None:
    assert len(ROWS) > 60
    for row in ROWS:
        assert len(row) == 5, row
        number, asked, where, shown, _ = row
        assert asked, number
        assert "`tests/" in shown, number
        assert Path(re.findall(r"`([^`]+)`", where)[0]).parts[0] != "tests", number


def test_every_chapter_that_applies_has_its_rows() -> None:
    assert {int(row[0].split(".")[0]) for row in ROWS} == {*range(1, 10), *range(11, 17)}


@pytest.mark.django_db
@pytest.mark.either_database
def test_cookies_and_headers_are_as_the_table_says() -> None:
    with override_settings(
        SESSION_COOKIE_SECURE=True, CSRF_COOKIE_SECURE=True, SECURE_HSTS_SECONDS=31_536_000, SECURE_SSL_REDIRECT=True
    ):
        answer = Client().get("/sign-in/", secure=True)
    cookie = answer.cookies["csrftoken"]
    assert (bool(cookie["secure"]), cookie["samesite"]) == (True, "Lax")
    assert (settings.SESSION_COOKIE_HTTPONLY, settings.SESSION_COOKIE_SAMESITE) == (True, "Lax")
    said = answer.headers
    assert said["Strict-Transport-Security"] == "max-age=31536000"
    assert (said["X-Frame-Options"], said["X-Content-Type-Options"]) == ("DENY", "nosniff")
    assert said["Referrer-Policy"] == "same-origin"
    assert "script-src" not in said["Content-Security-Policy"]
    assert "default-src 'self'" in said["Content-Security-Policy"]


def test_the_proxies_speak_no_old_tls() -> None:
    site = (ROOT / "dispensing" / "deployment" / "nginx.conf").read_text()
    assert re.findall(r"ssl_protocols (.*);", site) == ["TLSv1.2 TLSv1.3"]
    caddy = (ROOT / "dispensing" / "deployment" / "Caddyfile").read_text()
    assert "protocols" not in caddy, "Caddy's own choice is TLS 1.2 and newer"
