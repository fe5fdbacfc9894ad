"""compare_frames for files: one frame per line, one line per fault, and an exit code that a script can rely on."""

from __future__ import annotations

import io
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from orders.documents.json_schemas import schema_of
from orders.documents.lens_catalogue import parse_catalogue
from orders.documents.lens_order import parse_order
from orders.options.frames.command import run
from orders.rules import check
from orders.rules.command import plain
from orders.rules.examples import HERE
from tests.orders.options.frames.stock import drawn, odd

ROOT = Path(__file__).parents[4]
ORDER, CATALOGUE = HERE / "order.json", HERE / "catalogue.json"


def stock_file(folder: Path, **changes: Any) -> Path:
    frames = [json.loads(frame.model_dump_json()) for frame in (*drawn(21, 5), *odd(22, 4))]
    path = folder / "frames.json"
    path.write_text(json.dumps({"format": "frame-stock/1", "frames": frames, **changes}), encoding="utf-8")
    return path


class Run:
    def __init__(self, order: Path, frames: Path, only_makeable: bool = False) -> None:
        out, err = io.StringIO(), io.StringIO()
        self.code = run(order, CATALOGUE, frames, out, err, only_makeable=only_makeable)
        self.options = [json.loads(text) for text in out.getvalue().splitlines()]
        self.faults = err.getvalue().splitlines()


def test_every_frame_has_its_line_in_the_sequence_of_the_stock_and_fits_the_schema(tmp_path: Path) -> None:
    result = Run(ORDER, stock_file(tmp_path))
    assert (result.code, result.faults) == (0, [])
    assert [option["model"] for option in result.options] == [f.model for f in (*drawn(21, 5), *odd(22, 4))]
    validator = jsonschema.Draft202012Validator(schema_of("frame-option/1"))
    for option in result.options:
        validator.validate(option)
        assert set(schema_of("frame-option/1")["properties"]) == set(option)


def test_a_line_says_what_check_order_says_of_the_order_with_that_frame_and_those_heights(tmp_path: Path) -> None:
    stock = json.loads(stock_file(tmp_path).read_text(encoding="utf-8"))["frames"]
    catalogue = parse_catalogue(CATALOGUE.read_text(encoding="utf-8"))
    options = Run(ORDER, stock_file(tmp_path)).options
    for frame, option in zip(stock, options, strict=True):
        document = json.loads(ORDER.read_text(encoding="utf-8"))
        document["frame"] = {**frame, "source": document["frame"]["source"]}
        for eye in ("right", "left"):
            document["fitting"][eye]["height_mm"] = option[f"{eye}_height_mm"]
        report = plain(check(parse_order(json.dumps(document)), catalogue))
        assert (option["right"], option["left"]) == (report["computed"]["right"], report["computed"]["left"])
        assert option["verdict"] == report["verdict"]
        found = [{key: part[key] for key in ("rule", "level", "eye")} for part in report["findings"]]
        assert option["findings"] == found


def test_only_makeable_leaves_out_what_is_stopped_and_nothing_else(tmp_path: Path) -> None:
    every, makeable = Run(ORDER, stock_file(tmp_path)).options, Run(ORDER, stock_file(tmp_path), True).options
    assert [option for option in every if option["verdict"] != "stop"] == makeable
    assert 0 < len(makeable) < len(every)


def test_an_order_without_a_lens_and_a_file_of_another_kind_are_refused(tmp_path: Path) -> None:
    document = json.loads(ORDER.read_text(encoding="utf-8"))
    document["lenses"] = {}
    bare = tmp_path / "bare.json"
    bare.write_text(json.dumps(document), encoding="utf-8")
    result = Run(bare, stock_file(tmp_path))
    assert (result.code, result.options) == (2, [])
    assert result.faults == [f"{bare}: $.lenses: no lens is ordered, so no frame can be compared for one"]
    wrong = stock_file(tmp_path, format="lens-order/1")
    result = Run(ORDER, wrong)
    assert (result.code, result.options) == (2, [])
    assert result.faults == [f"{wrong}: $.format: is 'lens-order/1'; this file must say \"frame-stock/1\""]


def test_a_stock_without_frames_gives_no_line_and_no_fault(tmp_path: Path) -> None:
    result = Run(ORDER, stock_file(tmp_path, frames=[]))
    assert (result.code, result.options, result.faults) == (0, [], [])


@pytest.mark.parametrize("from_stdin", [False, True])
def test_the_command_itself_prints_lines(tmp_path: Path, from_stdin: bool) -> None:
    order = "-" if from_stdin else str(ORDER)
    options: list[str | Path] = ["--catalogue", CATALOGUE, "--frames", stock_file(tmp_path)]
    ran = subprocess.run(
        [sys.executable, ROOT / "manage.py", "compare_frames", order, *options],
        input=ORDER.read_text(encoding="utf-8") if from_stdin else None,
        capture_output=True,
        text=True,
        cwd=ROOT,
    )
    assert (ran.returncode, ran.stderr) == (0, "")
    assert len(ran.stdout.splitlines()) == 9
    assert {json.loads(line)["format"] for line in ran.stdout.splitlines()} == {"frame-option/1"}
