"""The steps of the README for a real installation are commands that there are, with options that they take."""

from __future__ import annotations

import re
import shlex
from importlib import import_module
from pathlib import Path

import pytest
from django.core.management import get_commands, load_command_class

from dispensing.bootstrap import system_packages
from tests.known import there

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text()
STEPS = there(re.search(r"## In production.*?```\n(.*?)```", README, re.S))[1].splitlines()


def test_its_system_packages_are_those_that_the_bootstrap_knows() -> None:
    packages = set(STEPS[0].split("--no-install-recommends ")[1].split())
    assert packages - {"python3-venv"} == {need.package for need in system_packages.FOR_PAGES_AND_PDF}


def test_it_makes_an_environment_of_its_own_from_the_lock() -> None:
    assert STEPS[1] == "python3 -m venv .venv"
    assert STEPS[2] == ".venv/bin/pip install --require-hashes --no-deps -r requirements.txt"
    assert (ROOT / "requirements.txt").exists()
    assert all(step.startswith(".venv/bin/") for step in STEPS[2:])


@pytest.mark.parametrize("step", [step for step in STEPS if "manage.py" in step])
def test_each_command_takes_what_it_is_given(step: str) -> None:
    words = shlex.split(step.split("manage.py ")[1])
    command = load_command_class(get_commands()[words[0]], words[0])
    command.create_parser("manage.py", words[0]).parse_args(words[1:])


def test_gunicorn_s_settings_and_the_application_are_there() -> None:
    (step,) = (step for step in STEPS if "gunicorn" in step)
    settings, application = re.findall(r"python:(\S+) (\S+)", step)[0]
    assert import_module(settings).threads >= 8
    assert import_module(application).application
