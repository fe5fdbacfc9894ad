"""The settings of the test run: those of an installation, with its data in a temporary folder.

The database is a SQLite file, or the PostgreSQL of ``DATABASE_URL``. It is a file and not in memory, because the tests
of two people working at once need connections that wait for each other as they do in a practice.
"""

import atexit
import os
import shutil
import tempfile
from pathlib import Path
from typing import Any

import dj_database_url

# Renamed before the settings are read: to them a DATABASE_URL means production, with HTTPS and real hosts. Renamed and
# not taken out, because the processes of a parallel run read this file too, in the environment of the one that starts
# them.
if "DATABASE_URL" in os.environ:
    os.environ["TEST_DATABASE_URL"] = os.environ.pop("DATABASE_URL")
_server = os.environ.get("TEST_DATABASE_URL")
_folder = Path(tempfile.mkdtemp(prefix="datumline-test-"))
atexit.register(shutil.rmtree, _folder, ignore_errors=True)
os.environ["DATUMLINE_DATA_DIR"] = str(_folder)
# The driver of the browser runs an event loop in the test's own thread; the tests are synchronous all the same.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"

from dispensing import settings as installation  # noqa: E402
from dispensing.settings import *  # noqa: E402, F403


def _database() -> dict[str, object]:
    if _server:
        return {**dj_database_url.parse(_server)}
    sqlite = installation.DATABASES["default"]
    options: Any = sqlite["OPTIONS"]
    # Nothing of a test run need survive a power cut.
    careless = {**options, "init_command": f"{options['init_command']}PRAGMA synchronous=OFF;"}
    return {**sqlite, "TEST": {"NAME": str(_folder / "test.sqlite3")}, "OPTIONS": careless}


DATABASES = {"default": _database()}
READ_PAPERS = False  # a test that wants a scan read reads it itself
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
STORAGES = {
    **installation.STORAGES,
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
