"""compare_lenses for files: one lens per line, one line per fault, and an exit code that a script can rely on."""

from __future__ import annotations

import io
import json
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest

from orders.documents.json_schemas import schema_of
from orders.documents.lens_catalogue import parse_catalogue
from orders.documents.lens_order import parse_order
from orders.options.lenses.command import run
from orders.rules import check
from orders.rules.command import plain
from orders.rules.examples import HERE

ROOT = Path(__file__).parents[4]
ORDER, CATALOGUE = HERE / "order.json", HERE / "catalogue.json"


class Run:
    def __init__(self, order: Path, *catalogues: Path, only_makeable: bool = False) -> None:
        out, err = io.StringIO(), io.StringIO()
        self.code = run(order, catalogues, out, err, only_makeable=only_makeable)
        self.options = [json.loads(text) for text in out.getvalue().splitlines()]
        self.faults = err.getvalue().splitlines()


@pytest.fixture
def other_lab(tmp_path: Path) -> Path:
    document = json.loads(CATALOGUE.read_text(encoding="utf-8"))
    document.update(lab="Other Lab", prices=[{"design": "single", "amount": 40, "currency": "GBP"}])
    path = tmp_path / "other.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    return path


def test_every_lens_of_every_catalogue_has_its_line_in_the_catalogues_sequence(other_lab: Path) -> None:
    result = Run(ORDER, CATALOGUE, other_lab)
    assert (result.code, result.faults) == (0, [])
    half = len(result.options) // 2
    labs = [option["lab"] for option in result.options]
    assert (set(labs[:half]), set(labs[half:])) == ({"Example Lab"}, {"Other Lab"})
    assert {option["price"] and option["price"]["amount"] for option in result.options[:half]} == {None}
    assert {option["price"]["currency"] for option in result.options[half:] if option["design"] == "single"} == {"GBP"}


def test_a_line_says_what_check_order_says_of_the_order_with_that_lens() -> None:
    catalogue = parse_catalogue(CATALOGUE.read_text(encoding="utf-8"))
    options = Run(ORDER, CATALOGUE).options
    for option in options[::9]:
        document = json.loads(ORDER.read_text(encoding="utf-8"))
        for eye in ("right", "left"):
            chosen = {key: option[key] for key in ("design", "material", "corridor_mm", "blank_mm", "treatments")}
            document["lenses"][eye] |= chosen
        report = plain(check(parse_order(json.dumps(document)), catalogue))
        assert (option["right"], option["left"]) == (report["computed"]["right"], report["computed"]["left"])
        assert option["verdict"] == report["verdict"]
        found = [{key: part[key] for key in ("rule", "level", "eye")} for part in report["findings"]]
        assert option["findings"] == found
        assert option["weight_pair_g"] == option["right"]["weight_g"] + option["left"]["weight_g"]


def test_each_line_fits_the_schema_and_has_every_key_of_the_format() -> None:
    validator = jsonschema.Draft202012Validator(schema_of("lens-option/1"))
    keys = ["format", "lab", "design", "material", "corridor_mm", "blank_mm", "treatments", "right", "left"]
    for option in Run(ORDER, CATALOGUE).options:
        validator.validate(option)
        assert list(option) == [*keys, "verdict", "findings", "weight_pair_g", "price", "extra"]


def test_only_what_can_be_made_leaves_out_the_lenses_that_are_stopped_and_no_other() -> None:
    everything, makeable = Run(ORDER, CATALOGUE).options, Run(ORDER, CATALOGUE, only_makeable=True).options
    assert makeable == [option for option in everything if option["verdict"] != "stop"]
    assert 0 < len(makeable) < len(everything)


def test_a_catalogue_that_is_not_valid_ends_in_2_and_the_others_are_still_compared(tmp_path: Path) -> None:
    bad = tmp_path / "bad.json"
    bad.write_text('{"format": "lens-catalogue/1", "labb": "x"}', encoding="utf-8")
    result = Run(ORDER, bad, CATALOGUE)
    assert result.code == 2
    assert sorted(result.faults) == [f"{bad}: $.lab: is missing", f"{bad}: $.labb: unknown key"]
    assert result.options == Run(ORDER, CATALOGUE).options


def test_an_order_that_is_not_valid_ends_in_2_with_no_line_and_the_catalogues_faults_beside_its_own(
    tmp_path: Path,
) -> None:
    bad = tmp_path / "bad.json"
    bad.write_text("{}", encoding="utf-8")
    result = Run(bad, CATALOGUE, tmp_path / "none.json")
    assert (result.code, result.options) == (2, [])
    assert [line.split(": ")[0] for line in result.faults] == [str(bad), str(tmp_path / "none.json")]


def test_a_catalogue_with_nothing_on_offer_says_so_and_is_no_fault(tmp_path: Path) -> None:
    empty = tmp_path / "empty.json"
    empty.write_text('{"format": "lens-catalogue/1", "lab": "Bare Lab"}', encoding="utf-8")
    result = Run(ORDER, empty)
    assert (result.code, result.options, result.faults) == (0, [], [f"{empty}: The catalogue has no designs."])


def test_the_command_itself_prints_lines_and_ends_in_2_for_a_missing_file(other_lab: Path) -> None:
    def manage(*words: str | Path) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, ROOT / "manage.py", "compare_lenses", *words]
        return subprocess.run(command, capture_output=True, text=True, cwd=ROOT)

    ran = manage(ORDER, "--catalogue", CATALOGUE, "--catalogue", other_lab, "--only-makeable")
    assert (ran.returncode, ran.stderr) == (0, "")
    assert {json.loads(line)["lab"] for line in ran.stdout.splitlines()} == {"Example Lab", "Other Lab"}
    assert {json.loads(line)["format"] for line in ran.stdout.splitlines()} == {"lens-option/1"}
    missing = manage(ORDER, "--catalogue", "nowhere.json", "--catalogue", CATALOGUE)
    assert missing.returncode == 2
    assert missing.stderr.startswith("nowhere.json: $: cannot be read")
    assert missing.stdout
