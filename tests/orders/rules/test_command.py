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
from orders.rules.check_files import run
from orders.rules.examples import HERE as EXAMPLES
from orders.rules.judging_files import Finish, as_it_is

CATALOGUE = EXAMPLES / "catalogue.json"
ROOT = Path(__file__).parents[3]


class Run:
    """One call: its exit code, its reports and its complaints."""

    def __init__(self, *orders: Path, catalogue: Path = CATALOGUE, finish: Finish = as_it_is, **how: Any) -> None:
        out, err = io.StringIO(), io.StringIO()
        self.code = run(orders, catalogue, out, err, finish, **how)
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


@pytest.mark.parametrize("jobs", [1, 2])
def test_the_same_job_twice_in_one_call_is_asked_about_once_with_the_later(order_file: Any, jobs: int) -> None:
    another = order_file("another.json", number="E-00003", patient={"reference": "P-77"})
    one, two, again = order_file("one.json"), order_file("two.json", number="E-00002"), order_file("one-again.json")
    result = Run(one, another, two, again, jobs=jobs)

    asked = [
        [f["says"].split(" of ")[0] for f in r["findings"] if f["rule"] == "duplicate-order"] for r in result.reports
    ]
    assert asked == [[], [], ["Order E-00001"], ["Order E-00001", "Order E-00002"]]


def test_of_very_many_orders_of_one_patient_the_last_ones_are_compared(
    order_file: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("orders.rules.earlier_orders.MOST", 2)
    result = Run(*(order_file(f"{count}.json", number=f"E-{count}") for count in range(4)))

    asked = [
        [f["says"].split(" of ")[0] for f in r["findings"] if f["rule"] == "duplicate-order"] for r in result.reports
    ]
    assert asked == [[], ["Order E-0"], ["Order E-0", "Order E-1"], ["Order E-1", "Order E-2"]]


@pytest.mark.parametrize("jobs", [1, 2])
def test_a_folder_stands_for_the_orders_in_it_and_below_it(order_file: Any, tmp_path: Path, jobs: int) -> None:
    (tmp_path / "of/may").mkdir(parents=True)
    numbers = {f"of/E-{count}.json": f"E-{count}" for count in range(30)} | {"of/may/E-X.JSON": "E-X"}
    for name, number in numbers.items():
        order_file(name, number=number, patient={"reference": number})
    order_file("of/notes.txt", number="none")
    order_file("beside.json", number="none")
    result = Run(tmp_path / "of", jobs=jobs)

    assert sorted(r["number"] for r in result.reports) == sorted(numbers.values())


def test_a_folder_without_an_order_is_told(tmp_path: Path) -> None:
    result = Run(tmp_path)

    assert (result.code, result.reports) == (2, [])
    assert result.faults == ["There is no order: no file ends in .json or .pdf."]


@pytest.mark.parametrize("jobs", [1, 2])
def test_on_demand_every_order_has_a_line_with_its_name(order_file: Any, jobs: int) -> None:
    bad, clean = order_file("bad.json", supply="posted"), order_file("clean.json")
    nothing_known = order_file("stop.json", number="E-2", frame={}, patient={"reference": "P-2"})
    result = Run(bad, clean, nothing_known, named=True, jobs=jobs)

    assert [(r["file"], *r) for r in result.reports] == [
        (str(bad), "file", "faults"),
        (str(clean), "file", "report"),
        (str(nothing_known), "file", "report"),
    ]
    assert [f"{bad}: {fault}" for fault in result.reports[0]["faults"]] == result.faults
    assert [r["report"]["verdict"] for r in result.reports[1:]] == ["clear", "stop"]
    assert result.code == 2


def test_several_processes_say_what_one_says(order_file: Any) -> None:
    orders = [
        order_file(f"{count}.json", number=f"E-{count}", patient={"reference": f"P-{count}"}) for count in range(50)
    ]
    orders[20] = order_file("bad.json", supply="posted")
    alone, shared = Run(*orders), Run(*orders, jobs=3)

    assert (shared.code, shared.faults, shared.reports) == (alone.code, alone.faults, alone.reports)
    assert len(alone.reports) == 49


def test_each_report_is_out_before_the_next_order_is_read(order_file: Any) -> None:
    seen: list[int] = []
    out, err = io.StringIO(), io.StringIO()

    def given() -> Any:
        for count in range(3):
            seen.append(len(out.getvalue().splitlines()))
            yield order_file(f"{count}.json", number=f"E-{count}")

    run(given(), CATALOGUE, out, err)
    assert seen == [0, 1, 2]


def check_order(content: str, *options: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "manage.py", "check_order", "-", "--catalogue", str(CATALOGUE), *options]
    return subprocess.run(command, cwd=ROOT, input=content, capture_output=True, text=True, check=False)


def test_standard_input_may_hold_an_order_a_line(order_file: Any) -> None:
    lines = [order_file(f"{count}.json", number=f"E-{count}").read_text(encoding="utf-8") for count in range(3)]
    finished = check_order("\n".join([*lines[:2], "", '{"format": 1}', lines[2]]) + "\n", "--named", "--jobs", "2")

    told = [json.loads(line) for line in finished.stdout.splitlines()]
    assert [line["file"] for line in told] == [f"/dev/stdin:{number}" for number in (1, 2, 4, 5)]
    assert [line["report"]["number"] for line in told if "report" in line] == ["E-0", "E-1", "E-2"]
    assert finished.stderr.startswith("/dev/stdin:4: $.format: ")
    assert finished.returncode == 2


def test_a_reader_that_has_seen_enough_ends_the_command_and_its_processes(order_file: Any, tmp_path: Path) -> None:
    (tmp_path / "many").mkdir()
    for count in range(200):
        order_file(f"many/{count}.json", number=f"E-{count}", patient={"reference": f"P-{count}"})
    command = [sys.executable, "manage.py", "check_order", str(tmp_path / "many"), "--catalogue", str(CATALOGUE)]
    with subprocess.Popen(
        [*command, "--jobs", "2"], cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        assert json.loads(process.stdout.readline())["format"] == "order-report/1"
        process.stdout.close()
        # Ends only when nobody holds the other end any more: neither the command nor a process that it started.
        assert process.stderr.read() == b""
    assert process.returncode == 141


@pytest.mark.parametrize("jobs", ["0", "65", "two"])
def test_an_impossible_number_of_processes_is_told(jobs: str) -> None:
    finished = check_order("{}", "--jobs", jobs)
    assert finished.returncode == 2
    assert "write how many processes, from 1 to 64" in finished.stderr


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
