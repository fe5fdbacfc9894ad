"""Static files that were never collected cost a page its looks and never more; who wrote them wrongly is told."""

from __future__ import annotations

import logging
from pathlib import Path

import pytest
from django.contrib.staticfiles.storage import staticfiles_storage
from django.test import override_settings
from pytest_django import Settings

from dispensing.static_files import HashedFiles
from tests.people import signed_in


@pytest.fixture
def nothing_collected(settings: Settings, tmp_path: Path) -> HashedFiles:
    settings.STATIC_ROOT = tmp_path / "static"
    settings.STATIC_ROOT.mkdir()
    settings.WHITENOISE_USE_FINDERS = False
    return HashedFiles(location=str(tmp_path / "static"), base_url="/static/")


@pytest.mark.django_db
def test_a_page_without_its_style_sheets_is_served_and_says_so(
    nothing_collected: HashedFiles, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(staticfiles_storage, "_wrapped", nothing_collected)
    with override_settings(DEBUG=False), caplog.at_level(logging.ERROR, "datumline"):
        answer = signed_in("dora").get("/")
    assert answer.status_code == 200
    assert "Colours and layout are missing on the server" in answer.content.decode()
    assert 'href="/static/dispensing/css/base.css"' in answer.content.decode()
    assert [record.message[:34] for record in caplog.records] == ["Static files are not collected (di"]


@pytest.mark.django_db
def test_a_page_with_its_style_sheets_says_nothing() -> None:
    assert "Colours and layout are missing" not in signed_in("dora").get("/").content.decode()


def test_a_file_that_is_nowhere_is_still_an_error(nothing_collected: HashedFiles) -> None:
    with override_settings(DEBUG=False), pytest.raises(ValueError, match="Missing staticfiles manifest entry"):
        nothing_collected.url("dispensing/css/no-such.css")
    assert not nothing_collected.missing
