"""Whatever a process of ours writes, nobody else on the machine may read; what killed ones left behind is swept."""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import pytest
from django.conf import settings as configured
from django.core.files.uploadedfile import TemporaryUploadedFile
from django.utils import timezone
from pytest_django import Settings

from dispensing.doctor.registry import Level
from dispensing.private import OTHERS, open_to_others
from dispensing.watchman import sweep
from tests.doctor.test_doctor import ROOT, said

WRITTEN_BY_THE_WEB = """
import dispensing.wsgi
from django.core.mail import send_mail
send_mail("Order", "Body", None, ["lab@lab.invalid"])
"""


def run(data: Path, *command: str) -> None:
    """As a user would whose files others may read by default."""
    clean = {name: value for name, value in os.environ.items() if not name.startswith("DJANGO_")}
    environ = {**clean, "DATUMLINE_DATA_DIR": str(data), "DATUMLINE_BOOTSTRAP": "0", "PYTHONPATH": str(ROOT)}
    subprocess.run([sys.executable, *command], env=environ, umask=0o022, check=False, capture_output=True)


def test_commands_and_the_web_write_for_their_own_user_alone(tmp_path: Path) -> None:
    data = tmp_path / "data"
    run(data, str(ROOT / "manage.py"), "doctor", "--only", "database")
    run(data, "-c", WRITTEN_BY_THE_WEB)
    there = [data, *data.rglob("*")]
    assert {"secret-key", "datumline.sqlite3", "uploads", "outgoing-mail"} <= {path.name for path in there}
    assert any(path.suffix == ".log" for path in there)
    assert list(open_to_others(*there)) == []


def test_the_doctor_names_what_others_may_read_and_says_how_to_close_it(settings: Settings, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path
    closed, left_open = tmp_path / "files", tmp_path / "outgoing-mail"
    for folder in (closed, left_open):
        folder.mkdir()
    tmp_path.chmod(0o700)
    closed.chmod(0o700)
    left_open.chmod(0o750)
    settings.MEDIA_ROOT, settings.EMAIL_FILE_PATH = closed, left_open
    found = [diagnosis for diagnosis in said("at-rest") if diagnosis.level is Level.WRONG]
    assert [(one.said, one.to_do) for one in found] == [
        (f"others on this machine may get into {left_open}", f"Run: chmod -R go= {left_open}")
    ]
    left_open.chmod(0o700)
    (left_open / "mail.log").write_text("Body")
    (left_open / "mail.log").chmod(0o640)
    (one,) = [diagnosis for diagnosis in said("at-rest") if diagnosis.level is Level.WRONG]
    assert str(left_open / "mail.log") in one.said


def test_an_upload_lies_in_the_data_folder_until_it_is_read() -> None:
    with TemporaryUploadedFile("a.jpg", "image/jpeg", 3, None) as file:
        path = Path(file.temporary_file_path())
        assert path.parent == configured.DATA_DIR / "uploads"
        assert path.stat().st_mode & OTHERS == 0


@pytest.mark.parametrize(("hours", "stays"), [(23.9, True), (24.1, False)])
def test_what_a_killed_process_left_is_swept_after_a_day(tmp_path: Path, hours: float, stays: bool) -> None:
    now = timezone.now()
    left, young = tmp_path / "left.upload", tmp_path / "young.upload"
    for path, age in ((left, timedelta(hours=hours)), (young, timedelta(0))):
        path.write_bytes(b"x")
        os.utime(path, ((now - age).timestamp(),) * 2)
    assert sweep(tmp_path, now) == (0 if stays else 1)
    assert (left.exists(), young.exists()) == (stays, True)
    assert sweep(tmp_path / "not there", now) == 0
