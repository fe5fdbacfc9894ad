"""``manage.py measure_fitting``: one line per valid file, one line per fault, exit code 2 for invalid files."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from io import StringIO
from pathlib import Path
from typing import Any

import pytest

from dispensing.fitting.command import run
from tests.fitting.marks import good_points

ROOT = Path(__file__).parents[2]


@pytest.fixture
def files(tmp_path: Path) -> dict[str, Any]:
    good, bad, broken = (tmp_path / name for name in ("good.json", "bad.json", "broken.json"))
    good.write_text(json.dumps(good_points()))
    bad.write_text(json.dumps(good_points() | {"gaze": 1, "near_distance_mm": "far"}))
    broken.write_text("{")
    return {path.stem: str(path) for path in (good, bad, broken)} | {"missing": str(tmp_path / "missing.json")}


def test_valid_files_are_measured_and_invalid_ones_are_told_fault_by_fault(files: dict[str, Any]) -> None:
    out, err = StringIO(), StringIO()
    code = run([files["bad"], files["good"], files["broken"], files["missing"], files["good"]], out, err)
    assert code == 2
    lines = [json.loads(line) for line in out.getvalue().splitlines()]
    assert [line["file"] for line in lines] == [files["good"]] * 2
    told = err.getvalue().splitlines()
    assert f"{files['bad']}: $.gaze: unknown key" in told
    assert f"{files['bad']}: $.near_distance_mm: must be a number, found the text 'far'" in told
    assert any(line.startswith(f"{files['broken']}: $: is not JSON") for line in told)
    assert any(line.startswith(f"{files['missing']}: $: cannot be read") for line in told)
    assert len(told) == 4


def test_only_valid_files_end_with_zero(files: dict[str, Any]) -> None:
    out, err = StringIO(), StringIO()
    assert run([files["good"]], out, err) == 0
    assert err.getvalue() == ""


def test_files_of_one_sheet_give_one_result_and_others_stand_alone(tmp_path: Path) -> None:
    sheets = {"first": "12", "alone": None, "second": "12", "other": "13"}
    paths = {name: str(tmp_path / f"{name}.json") for name in sheets}
    for name, sheet in sheets.items():
        Path(paths[name]).write_text(json.dumps(good_points(with_side=False) | {"sheet": sheet, "posture": name}))
    out, err = StringIO(), StringIO()
    assert run(paths.values(), out, err, combine=True) == 0
    both, alone, other = (json.loads(line) for line in out.getvalue().splitlines())
    assert (both["sheet"], both["files"]) == ("12", [paths["first"], paths["second"]])
    assert (other["sheet"], other["files"]) == ("13", [paths["other"]])
    assert alone["file"] == paths["alone"]
    assert "file" not in both
    assert {"sheet", "files"} & set(alone) == set()
    single, together = (one["right"]["pd_mm"]["plus_minus"] for one in (alone, both))
    assert together == pytest.approx(single / 2**0.5, rel=0.02)
    assert other["right"] == alone["right"]
    run(paths.values(), plain := StringIO(), err)
    assert [json.loads(line)["file"] for line in plain.getvalue().splitlines()] == list(paths.values())


def test_the_real_command_needs_no_database_and_ends_with_two_for_a_bad_file(files: dict[str, Any]) -> None:
    environment = {**os.environ, "DATABASE_URL": "postgresql://nobody@localhost:1/nothing", "SECRET_KEY": "x" * 60}
    done = subprocess.run(
        [sys.executable, "manage.py", "measure_fitting", files["bad"], files["good"]],
        cwd=ROOT,
        env={**environment, "ALLOWED_HOSTS": "localhost"},
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert done.returncode == 2
    assert json.loads(done.stdout)["file"] == files["good"]
    assert done.stderr.count(files["bad"]) == 2
