"""What every test may use, and which tests run on which database.

``python3 manage.py test`` runs pytest twice: on SQLite all tests but those marked ``postgres``, on PostgreSQL those
that touch the database and drive no browser. Running the pure ones twice would prove nothing more, nor those marked
``either_database``, which are about words, forms and figures; nor would running the browser tests twice, because the
tests of views send to PostgreSQL whatever its pages send. The browser runs on SQLite, which is the harder of the two
for a page, since requests that it sends at once wait for each other there.
"""

from __future__ import annotations

import django.test
import pytest
from django.db import connection
from hypothesis import settings as hypothesis_settings
from pytest_django import Settings

pytest_plugins = ["tests.append_only_flush", "tests.browser", "tests.optics.closing_tables", "tests.stand_in_pdf"]

# The same examples in every run, so that a failure is of the change and not of the draw; by hand, new ones with
# --hypothesis-profile=random. No deadline: a busy machine must not turn a slow example into a failure.
hypothesis_settings.register_profile("same", derandomize=True, deadline=None)
hypothesis_settings.register_profile("random", deadline=None)
hypothesis_settings.load_profile("same")

DATABASE_FIXTURES = {"db", "transactional_db", "django_db_reset_sequences", "live_server"}


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--rounds", type=int, default=1, help="run every race so often; by hand, since it takes long")


def _uses_database(item: pytest.Item) -> bool:
    if item.get_closest_marker("django_db") or item.get_closest_marker("postgres"):
        return True
    if DATABASE_FIXTURES & set(getattr(item, "fixturenames", ())):
        return True
    return issubclass(getattr(item, "cls", None) or object, django.test.TransactionTestCase)


def _on_postgres() -> bool:
    return connection.vendor == "postgresql"


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    def belongs_here(item: pytest.Item) -> bool:
        if _on_postgres():
            return _uses_database(item) and not any(map(item.get_closest_marker, ("browser", "either_database")))
        return item.get_closest_marker("postgres") is None

    elsewhere = [item for item in items if not belongs_here(item)]
    if elsewhere:
        config.hook.pytest_deselected(items=elsewhere)
        items[:] = [item for item in items if belongs_here(item)]
    for item in items:  # Read from the JUnit file by .ci/no_skips.py
        if item.get_closest_marker("browser"):
            item.user_properties.append(("drives", "browser"))
        if _uses_database(item):
            item.user_properties.append(("touches", connection.vendor))


@pytest.fixture(autouse=True)
def _own_media_folder(settings: Settings, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Each test has its own folder of uploads and outgoing mail."""
    folder = tmp_path_factory.mktemp("data", numbered=True)
    settings.MEDIA_ROOT = folder / "files"
    settings.EMAIL_FILE_PATH = folder / "outgoing-mail"
    settings.SEALS_FILE = folder / "seals.txt"
