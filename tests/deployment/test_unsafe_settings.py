"""The doctor and ``check --deploy`` find the same settings unsafe; connections are pooled as the settings say."""

from __future__ import annotations

import ipaddress
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier, get_ident

import pytest
from django.core.checks import run_checks
from django.core.exceptions import ImproperlyConfigured
from django.db import connection
from django.db.utils import ConnectionHandler
from pytest_django import Settings

from dispensing import settings as installation
from dispensing.doctor.checks.server import settings_are_fit
from dispensing.doctor.registry import Level


@pytest.fixture
def safe(settings: Settings, tmp_path: Path) -> Settings:
    (tmp_path / "staticfiles.json").touch()
    settings.PRODUCTION, settings.DEBUG, settings.SECRET_KEY = True, False, "k3y-" * 15
    settings.ALLOWED_HOSTS, settings.SESSION_COOKIE_SECURE, settings.TRUSTED_PROXIES = ["practice.example"], True, 1
    settings.STATIC_ROOT = tmp_path
    return settings


def wrong() -> list[str]:
    return [diagnosis.said for diagnosis in settings_are_fit() if diagnosis.level == Level.WRONG]


def test_an_installation_as_the_examples_have_it_is_fit(safe: Settings) -> None:
    assert wrong() == []


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("TRUSTED_PROXIES", 0, "no proxy is in front"),
        ("SECRET_KEY", "CHANGE-THIS-TO-FIFTY-OR-MORE-RANDOM-CHARACTERS-AT-ONCE", "SECRET_KEY is the one of an example"),
        ("METRICS_FROM", [ipaddress.ip_network("0.0.0.0/0")], "METRICS_FROM admits any address"),
        ("STATIC_ROOT", Path("/no/such/folder"), "the static files are not collected"),
        ("DEBUG", True, "DEBUG is on"),
    ],
)
def test_each_unsafe_setting_is_said_alone_by_the_doctor_and_before_deployment(
    safe: Settings, name: str, value: object, said: str
) -> None:
    setattr(safe, name, value)
    assert [words[: len(said)] for words in wrong()] == [said]
    warned = [one for one in run_checks(include_deployment_checks=True) if one.id == "dispensing.W001"]
    assert [one.msg[: len(said)] for one in warned] == [said]


def test_a_pool_is_a_number_or_outside(monkeypatch: pytest.MonkeyPatch) -> None:
    given: dict[str, object] = {"ENGINE": "django.db.backends.postgresql", "OPTIONS": {"sslmode": "require"}}
    monkeypatch.delenv("DATABASE_POOL", raising=False)
    assert installation._pooled(given) == given
    monkeypatch.setenv("DATABASE_POOL", "outside")
    assert installation._pooled(given) == {**given, "DISABLE_SERVER_SIDE_CURSORS": True}
    monkeypatch.setenv("DATABASE_POOL", "6")
    pooled = installation._pooled(given)
    pool = {"min_size": 1, "max_size": 6, "timeout": 10}
    assert pooled == {**given, "CONN_MAX_AGE": 0, "OPTIONS": {"sslmode": "require", "pool": pool}}
    for wrong in ("many", "0", "100"):
        monkeypatch.setenv("DATABASE_POOL", wrong)
        with pytest.raises(ImproperlyConfigured, match="DATABASE_POOL"):
            installation._pooled(given)


def test_sqlite_is_set_up_alike_whether_it_is_named_or_not(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("DATABASE_URL", f"sqlite:///{tmp_path}/record.sqlite3")
    assert installation._from_url()["OPTIONS"] == installation._sqlite()["OPTIONS"]


@pytest.mark.postgres
@pytest.mark.django_db
def test_eight_threads_of_a_process_share_two_connections(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DATABASE_POOL", "2")
    handler = ConnectionHandler({"default": installation._pooled(dict(connection.settings_dict))})
    together = Barrier(8)

    def asked(_: int) -> tuple[int, int]:
        together.wait()
        line = handler["default"]
        with line.cursor() as cursor:
            cursor.execute("SELECT pg_backend_pid()")
            backend = cursor.fetchone()[0]
        line.close()
        return get_ident(), int(backend)

    with ThreadPoolExecutor(8) as threads:
        answers = list(threads.map(asked, range(8)))
    handler["default"].close_pool()  # type: ignore[attr-defined]  # of PostgreSQL's own connections
    assert len({thread for thread, _ in answers}) == 8
    assert 1 <= len({backend for _, backend in answers}) <= 2
