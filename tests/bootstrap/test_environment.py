"""``.venv`` is made when it is missing, renewed when the lock changes, and left alone otherwise."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.bootstrap.small_project import SmallProject


class StartedProject(SmallProject):
    """One whose first command was given; ``first_run`` is what it came to."""

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        self.first_run = self.run("check_order")


@pytest.fixture(scope="module")
def set_up_project(tmp_path_factory: pytest.TempPathFactory) -> StartedProject:
    return StartedProject(tmp_path_factory.mktemp("bare") / "project")


@pytest.fixture
def project(set_up_project: StartedProject, tmp_path: Path) -> Iterator[StartedProject]:
    """The project as the first run left it; a test may spoil it."""
    stamp = set_up_project.venv / "installed-requirements.txt"
    saved = stamp.read_bytes()
    yield set_up_project
    set_up_project.write_lock("# Nothing to install\n")
    stamp.write_bytes(saved)


def test_the_first_command_makes_the_environment_and_goes_on_inside_it(project: StartedProject) -> None:
    assert project.first_run.returncode == 0, project.first_run.stderr
    assert project.first_run.stdout.strip() == str(project.venv)


def test_progress_goes_to_stderr_because_a_command_may_print_json(project: StartedProject) -> None:
    steps = project.first_run.stderr.splitlines()
    assert [step.split(" … ")[0] for step in steps] == [
        "Making .venv",
        "Installing up to 0 packages named in requirements.txt",
    ]
    assert all(" … done in " in step for step in steps)


def test_the_second_command_sets_up_nothing(project: StartedProject) -> None:
    second = project.run("check_order")
    assert second.stdout.strip() == str(project.venv)
    assert second.stderr == ""


def test_a_changed_lock_is_installed_before_the_next_command(project: StartedProject) -> None:
    project.write_lock("# Still nothing, but otherwise\n")
    renewed = project.run("check_order")
    assert renewed.returncode == 0
    assert renewed.stderr.startswith("Installing up to 0 packages named in requirements.txt … done in ")
    assert project.run("check_order").stderr == ""


def test_a_package_without_a_hash_is_refused_and_pip_is_heard(project: StartedProject) -> None:
    project.write_lock("segno==1.6.6\n")
    refused = project.run("check_order")
    assert refused.returncode == 1
    assert "hash" in refused.stderr
    assert "This step failed: Installing up to 1 packages" in refused.stderr
    assert refused.stdout == ""


def test_an_environment_whose_python_is_gone_is_made_anew(project: StartedProject) -> None:
    shutil.rmtree(project.venv / "bin")
    mended = project.run("check_order")
    assert mended.returncode == 0, mended.stderr
    assert "Making .venv" in mended.stderr
    assert mended.stdout.strip() == str(project.venv)
