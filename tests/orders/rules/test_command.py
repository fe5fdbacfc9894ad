"""check_order for files: one report per line, one line per fault, and an exit code that a script can rely on."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from orders.options.in_report import with_remedies
from orders.rules.command import Finish, as_it_is, run
from orders.rules.examples import HERE as EXAMPLES

CATALOGUE = EXAMPLES / "catalogue.json"
ROOT = Path(__file__).parents[3]


class Run:
    """One call: its exit code, its reports and its complaints."""

    def __init__(self, *orders: Path, catalogue: Path = CATALOGUE, finish: Finish = as_it_is) -> None:
        out, err = io.StringIO(), io.StringIO()
        self.code = run(orders, catalogue, out, err, finish)
        self.reports = [json.loads(text) for text in out.getvalue().splitlines()]
        self.faults = err.getvalue().splitlines()


@pytest.fixture
def order_file(tmp_path: Path) -> Any:
    def write(name: str, **changes: Any) -> Path:
        document = json.loads((EXAMPLES / "order.json").read_text(encoding="utf-8"))
        path = tmp_path / name
        path.write_text(json.dumps({**document, **changes}), encoding="utf-8")
        return path

    return write


def test_an_order_without_a_stop_ends_in_0(order_file: Any) -> None:
    result = Run(order_file("clean.json"))

    assert (result.code, result.faults) == (0, [])
    assert [(r["format"], r["number"], r["verdict"]) for r in result.reports] == [
        ("order-report/1", "E-00001", "clear")
    ]


def test_one_stop_among_several_orders_ends_in_1(order_file: Any) -> None:
    nothing_known = order_file("stop.json", number="E-2", frame={}, patient={"reference": "P-2"})
    result = Run(order_file("clean.json"), nothing_known)

    assert result.code == 1
    assert [(r["number"], r["verdict"]) for r in result.reports] == [("E-00001", "clear"), ("E-2", "stop")]


def test_a_file_that_is_not_valid_is_named_with_path_and_the_others_are_still_done(order_file: Any) -> None:
    bad = order_file("bad.json", practise={"name": "misspelt"}, supply="posted")
    result = Run(bad, order_file("clean.json"))

    assert result.code == 2
    assert [r["number"] for r in result.reports] == ["E-00001"]
    assert [line.split(": ")[0:2] for line in sorted(result.faults)] == [
        [str(bad), "$.practise"],
        [str(bad), "$.supply"],
    ]


@pytest.mark.parametrize(
    ("content", "complaint"),
    [
        ("{", "$: is not JSON"),
        ("[]", "$: must be an object"),
        ("{}", "$.format: is missing"),
        ('{"format": "lens-order/2"}', "$.format: is 'lens-order/2'"),
        ('{"format": "lens-order/1", "frame": {"a_mm": "52"}}', "$.frame.a_mm: must be a number"),
    ],
)
def test_what_is_not_an_order_gets_one_clear_line(tmp_path: Path, content: str, complaint: str) -> None:
    path = tmp_path / "odd.json"
    path.write_text(content, encoding="utf-8")
    result = Run(path)

    assert (result.code, result.reports) == (2, [])
    assert len(result.faults) == 1
    assert result.faults[0].startswith(f"{path}: {complaint}")


def test_a_missing_file_is_a_fault_like_any_other(tmp_path: Path, order_file: Any) -> None:
    result = Run(tmp_path / "nowhere.json", order_file("clean.json"))

    assert result.code == 2
    assert result.faults == [f"{tmp_path / 'nowhere.json'}: $: cannot be read: No such file or directory"]
    assert len(result.reports) == 1


def test_a_catalogue_that_is_not_valid_is_a_fault_and_nothing_is_checked(tmp_path: Path, order_file: Any) -> None:
    catalogue = tmp_path / "catalogue.json"
    catalogue.write_text('{"format": "lens-catalogue/1", "lab": "L", "lenses": []}', encoding="utf-8")
    result = Run(order_file("clean.json"), catalogue=catalogue)

    assert (result.code, result.reports) == (2, [])
    assert result.faults == [f"{catalogue}: $.lenses: unknown key"]


def test_the_same_job_twice_in_one_call_is_asked_about(order_file: Any) -> None:
    result = Run(order_file("one.json"), order_file("two.json", number="E-00002"), order_file("one-again.json"))

    assert result.code == 0
    asked = [[f["rule"] for f in r["findings"]] for r in result.reports]
    assert asked == [["duplicate-order"] * 2] * 3


def test_the_command_runs_from_a_shell_without_a_database(order_file: Any, tmp_path: Path) -> None:
    environment = {**os.environ, "DATABASE_URL": f"sqlite:////{tmp_path}/no/such/folder/db.sqlite3"}
    finished = subprocess.run(
        [sys.executable, "manage.py", "check_order", str(order_file("clean.json")), "--catalogue", str(CATALOGUE)],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )

    assert finished.returncode == 0, finished.stderr
    assert json.loads(finished.stdout)["number"] == "E-00001"
    assert finished.stderr == ""


def test_an_order_is_read_from_standard_input(order_file: Any) -> None:
    finished = subprocess.run(
        [sys.executable, "manage.py", "check_order", "-", "--catalogue", str(CATALOGUE)],
        cwd=ROOT,
        input=order_file("clean.json").read_text(encoding="utf-8"),
        capture_output=True,
        text=True,
        check=False,
    )

    assert finished.returncode == 0, finished.stderr
    assert json.loads(finished.stdout)["number"] == "E-00001"


def test_an_order_judged_by_another_labs_catalogue_is_told_so(order_file: Any) -> None:
    lens = {"design": "of-another-lab", "material": "m160", "treatments": []}
    result = Run(order_file("other.json", lab={"name": "Other Lab"}, lenses={"right": lens, "left": lens}))

    assert result.code == 1
    found = next(f for f in result.reports[0]["findings"] if f["rule"] == "in-range")
    assert found["says"].endswith("is not in the catalogue of Example Lab, and the order is for Other Lab.")
    assert found["advice"] == "Choose another lens of the catalogue, or another lab."


def test_on_demand_a_finding_is_told_with_what_would_clear_it_tried_on_the_order(order_file: Any) -> None:
    order = json.loads((EXAMPLES / "order.json").read_text(encoding="utf-8"))
    path = order_file("small.json", lenses={eye: {**order["lenses"][eye], "blank_mm": 50} for eye in ("right", "left")})
    plain, told = Run(path).reports[0], Run(path, finish=with_remedies).reports[0]

    (before, after) = (next(f for f in r["findings"] if f["rule"] == "blank-size") for r in (plain, told))
    first, *advice = after["remedies"]
    assert first.startswith("Order the 65 mm blank for both lenses.")
    assert advice[-len(before["remedies"]) :] == before["remedies"]
    assert {**told, "findings": []} == {**plain, "findings": []}
