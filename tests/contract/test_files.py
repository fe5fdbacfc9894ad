"""What a script can rely on: exit codes, one report or one fault per line, and nothing else on the streams."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.contract.documents import Document, a_catalogue, an_order, changed, check_files, check_one

ROOT = Path(__file__).parents[2]
CLEAR = json.dumps(an_order())
STOPPED = changed(an_order(), {"number": "C-2", "patient.reference": "P-2", "prescription.right.sphere": None})

NOT_VALID: dict[str, tuple[str | bytes, str]] = {
    "empty": (b"", "$: is not JSON"),
    "cut off": (CLEAR[:-20], "$: is not JSON"),
    "followed by more": (CLEAR + " {}", "$: is not JSON"),
    "written in UTF-16": (CLEAR.encode("utf-16"), "$: is not JSON"),
    "written in Latin-1": (CLEAR.replace("Test 52", "Té 52").encode("latin-1"), "$: is not JSON"),
    "with NaN": (CLEAR.replace("52.0", "NaN", 1), "$: is not JSON"),
    "with an endless number": (CLEAR.replace("52.0", "1e999", 1), "$.frame.a_mm: must be a finite number"),
    "with a number of 5,000 digits": (CLEAR.replace("52.0", "9" * 5000, 1), "$: is not JSON"),
    "with a key twice": (CLEAR.replace('"sphere":', '"sphere": 1.0, "sphere":', 1), "$: is not JSON"),
    "with half a character": (CLEAR.replace('"C-1"', r'"\ud800"'), "$: is not JSON"),
    "nested too deeply": ("[" * 100_000 + "]" * 100_000, "$: is not JSON"),
    "a list": ("[]", "$: must be an object"),
    "null": ("null", "$: must be an object"),
    "without format": (CLEAR.replace('"format": "lens-order/1", ', ""), "$.format: is missing"),
    "of another format": (CLEAR.replace("lens-order/1", "lens-order/2"), "$.format: is 'lens-order/2'"),
    "of format null": (CLEAR.replace('"lens-order/1"', "null"), "$.format: is null"),
    "with an unknown key": (CLEAR.replace('"pd_mm"', '"PD"', 1), "$.fitting.right.PD: unknown key"),
    "with an unknown key of two lines": (CLEAR.replace('"model"', r'"mo\ndel"'), "$.frame.mo del: unknown key"),
    "with an unknown word": (CLEAR.replace('"fitted"', '"posted"'), "$.supply: unknown word 'posted'"),
    "with text for a number": (CLEAR.replace("52.0", '"52"', 1), "$.frame.a_mm: must be a number"),
    "with true for a number": (CLEAR.replace("52.0", "true", 1), "$.frame.a_mm: must be a number"),
    "with a number for yes or no": (CLEAR.replace('"driver": false', '"driver": 0'), "$.patient.driver: must be true"),
    "with a time stamp for a day": (CLEAR.replace("2026-11-25", "1764028800"), "$.ordered_on: must be a date"),
    "with an impossible day": (CLEAR.replace("2026-11-25", "2026-02-30"), "$.ordered_on: must be a date"),
}


@pytest.mark.parametrize("name", NOT_VALID)
def test_a_file_that_is_not_valid_gets_one_line_and_the_others_are_done(name: str, tmp_path: Path) -> None:
    content, fault = NOT_VALID[name]
    result = check_files(tmp_path, an_order(), content, STOPPED)

    assert result.code == 2
    assert [line.split(": ", 1)[0] for line in result.faults] == [str(tmp_path / "order1.json")]
    assert result.faults[0].split(": ", 1)[1].startswith(fault)
    assert [report["number"] for report in result.reports] == ["C-1", "C-2"]


def test_each_fault_of_a_file_has_its_line(tmp_path: Path) -> None:
    result = check_files(tmp_path, changed(an_order(), {"supply": "posted", "colour": "red", "frame.a_mm": "52"}))

    assert sorted(line.split(": ")[1] for line in result.faults) == ["$.colour", "$.frame.a_mm", "$.supply"]


def test_a_byte_order_mark_is_no_fault(tmp_path: Path) -> None:
    assert check_files(tmp_path, b"\xef\xbb\xbf" + CLEAR.encode()).code == 0


@pytest.mark.parametrize(
    ("orders", "code", "verdicts"),
    [
        ([an_order()], 0, ["clear"]),
        ([changed(an_order(), {"frame.source": "own"})], 0, ["ask"]),
        ([an_order(), STOPPED], 1, ["clear", "stop"]),
        ([STOPPED, an_order()], 1, ["stop", "clear"]),
    ],
)
def test_the_exit_code_says_whether_any_order_stops(
    orders: list[Document], code: int, verdicts: list[str], tmp_path: Path
) -> None:
    result = check_files(tmp_path, *orders)

    assert (result.code, [report["verdict"] for report in result.reports]) == (code, verdicts)


@pytest.mark.parametrize("content", ["", "{}", json.dumps({**a_catalogue(), "lenses": []}), CLEAR])
def test_without_a_valid_catalogue_nothing_is_checked(content: str, tmp_path: Path) -> None:
    result = check_files(tmp_path, an_order(), catalogue=content)

    assert (result.code, result.reports, len(result.faults)) == (2, [], 1)


@pytest.mark.parametrize("key", ["frame", "fitting", "prescription", "patient", "practice", "lab", "lenses"])
def test_a_part_that_is_left_out_or_null_is_a_matter_for_the_check(key: str, tmp_path: Path) -> None:
    order = an_order()
    del order[key]

    assert check_one(tmp_path, order) == check_one(tmp_path, {**an_order(), key: None})


def test_a_radius_that_was_not_measured_stops_the_order_and_is_named(tmp_path: Path) -> None:
    radii = [25.0] * 40
    order = changed(an_order(), {"frame.shape": {"side": "right", "radii_mm": [*radii, None]}})
    result = check_files(tmp_path, order)

    assert (result.code, result.faults, result.reports[0]["shape"]) == (1, [], "assumed")
    assert "radius 41 of 41 is missing" in result.reports[0]["findings"][0]["message"]


CATALOGUE_FAULTS = {
    "designs.0.sphere": ([1.0], "$.designs[0].sphere: must have at least 2 entries, found 1"),
    "materials.0.min_edge_mm": ({"wood": 1.0}, "$.materials[0].min_edge_mm.wood: unknown key; allowed: 'full_rim'"),
}


@pytest.mark.parametrize("path", CATALOGUE_FAULTS)
def test_a_fault_in_a_catalogue_is_told_in_plain_words(path: str, tmp_path: Path) -> None:
    value, said = CATALOGUE_FAULTS[path]
    catalogue = a_catalogue()
    part, place, key = path.split(".")
    catalogue[part][int(place)][key] = value
    result = check_files(tmp_path, an_order(), catalogue=json.dumps(catalogue))

    assert [fault.split(": ", 1)[1].startswith(said) for fault in result.faults] == [True]


@pytest.mark.parametrize("value", [1e300, -1e300, 1e15, 0, -1])
def test_no_figure_is_too_strange_to_report_on(value: float, tmp_path: Path) -> None:
    paths = ["frame.a_mm", "frame.ed_mm", "fitting.both.pd_mm", "fitting.right.height_mm", "fitting.both.vertex_mm"]
    paths += ["prescription.right.sphere", "prescription.right.cylinder", "prescription.both.add"]
    paths += ["fitting.pantoscopic_deg", "fitting.near_distance_mm", "lenses.both.blank_mm"]
    orders = [changed(an_order(), {path: value, "number": path}) for path in paths]
    result = check_files(tmp_path, *orders)

    assert result.faults == []
    assert [report["number"] for report in result.reports] == paths
    assert not any("nan" in f["message"] for report in result.reports for f in report["findings"])


def test_a_report_is_one_line_whatever_the_order_says(tmp_path: Path) -> None:
    result = check_files(tmp_path, changed(an_order(), {"number": "a\nb\u2028c\x85d"}))

    assert [report["number"] for report in result.reports] == ["a\nb\u2028c\x85d"]


def test_a_reader_that_has_seen_enough_ends_the_command_quietly(tmp_path: Path) -> None:
    check_files(tmp_path, *(changed(an_order(), {"number": str(i), "patient.reference": str(i)}) for i in range(60)))
    orders = [str(tmp_path / f"order{i}.json") for i in range(60)]
    command = [sys.executable, "manage.py", "check_order", *orders, "--catalogue", str(tmp_path / "catalogue.json")]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as running:
        assert running.stdout is not None
        assert running.stderr is not None
        assert json.loads(running.stdout.readline())["number"] == "0"
        running.stdout.close()
        assert running.stderr.read() == b""


def test_reports_are_utf_8_where_the_terminal_speaks_ascii(tmp_path: Path) -> None:
    check_files(tmp_path, changed(an_order(), {"number": "Müller", "prescription.right.sphere": -9.0}))
    command = [sys.executable, "manage.py", "check_order", str(tmp_path / "order0.json")]
    finished = subprocess.run(
        [*command, "--catalogue", str(tmp_path / "catalogue.json")],
        cwd=ROOT,
        env={"PYTHONIOENCODING": "ascii", "PATH": ""},
        capture_output=True,
    )

    assert finished.stderr == b""
    assert json.loads(finished.stdout.decode("utf-8"))["number"] == "Müller"


ORDERED_AGAIN: dict[str, tuple[Document, bool]] = {
    "under another number": ({"number": "C-2"}, True),
    "14 days later": ({"number": "C-2", "ordered_on": "2026-12-09"}, True),
    "15 days later": ({"number": "C-2", "ordered_on": "2026-12-10"}, False),
    "with other treatments": ({"number": "C-2", "lenses.both.treatments": ["ar"]}, True),
    "for another frame": ({"number": "C-2", "frame.model": "Other"}, False),
    "for another patient": ({"number": "C-2", "patient.reference": "P-2"}, False),
    "with another power": ({"number": "C-2", "prescription.right.sphere": -3.5}, False),
}


@pytest.mark.parametrize("name", ORDERED_AGAIN)
def test_files_of_one_call_are_looked_at_for_duplicates(name: str, tmp_path: Path) -> None:
    changes, asked = ORDERED_AGAIN[name]
    result = check_files(tmp_path, an_order(), changed(an_order(), changes))

    found = [
        [(f["rule"], f["level"], f["eye"]) for f in report["findings"] if f["rule"] == "duplicate-order"]
        for report in result.reports
    ]
    assert found == [[], [("duplicate-order", "ask", None)] if asked else []]
