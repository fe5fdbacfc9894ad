"""``fitting-points/1`` in and ``fitting/1`` out: faults name the JSON path, and results can be read back."""

from __future__ import annotations

import json
from typing import Any

import jsonschema
import pytest

from dispensing.documents import InvalidDocument, parse
from dispensing.fitting.command import json_line
from dispensing.fitting.documents import FITTING_FORMAT, Fitting, FittingPoints, parse_points
from tests.fitting.marks import good_points, measured, spoilt
from tests.known import there


def faults_of(points: dict[str, Any] | str) -> list[Any]:
    with pytest.raises(InvalidDocument) as caught:
        parse_points(points if isinstance(points, str) else json.dumps(points))
    return [str(fault) for fault in caught.value.faults]


def unknown_mark(points: dict[str, Any]) -> None:
    points["front"]["right"]["pupill"] = [1, 2]


def unknown_gaze(points: dict[str, Any]) -> None:
    points["front"]["gaze"] = "ceiling"


def unknown_scale(points: dict[str, Any]) -> None:
    points["front"]["scale"]["by"] = "coin"


def a_point_of_three(points: dict[str, Any]) -> None:
    points["side"]["cornea"] = [1.0, 2.0, 3.0]


def a_point_of_text(points: dict[str, Any]) -> None:
    points["side"]["cornea"] = ["1", 2.0]


def a_mark_as_text(points: dict[str, Any]) -> None:
    points["front"]["left"]["top"] = "high"


def no_format(points: dict[str, Any]) -> None:
    del points["format"]


def wrong_format(points: dict[str, Any]) -> None:
    points["format"] = "fitting-points/2"


def unknown_spread(points: dict[str, Any]) -> None:
    points["spreads"]["nose_mm"] = 1.0


@pytest.mark.parametrize(
    ("fault", "path"),
    [
        (unknown_mark, "$.front.right.pupill: unknown key"),
        (unknown_gaze, "$.front.gaze: unknown word 'ceiling'"),
        (unknown_scale, "$.front.scale.by: unknown word 'coin'"),
        (a_point_of_three, "$.side.cornea: must have at most 2 entries, found 3"),
        (a_point_of_text, "$.side.cornea[0]: must be a number"),
        (a_mark_as_text, "$.front.left.top: must be a list, found the text 'high'"),
        (no_format, "$.format: is missing"),
        (wrong_format, "$.format: is 'fitting-points/2'"),
        (unknown_spread, "$.spreads.nose_mm: unknown key"),
    ],
    ids=lambda value: getattr(value, "__name__", ""),
)
def test_a_fault_names_its_path(fault: Any, path: str) -> None:
    assert any(found.startswith(path) for found in faults_of(spoilt(fault)))


def test_every_fault_of_a_file_is_told_at_once() -> None:
    def twice(points: dict[str, Any]) -> None:
        unknown_mark(points)
        unknown_gaze(points)

    assert len(faults_of(spoilt(twice))) == 2


def test_text_that_is_not_json_and_numbers_that_are_none_are_faults() -> None:
    assert faults_of("{marks")[0].startswith("$: is not JSON")
    assert faults_of('{"format": "fitting-points/1", "front": {"focal_px": NaN}}')[0].startswith("$: is not JSON")


def test_any_measured_value_may_be_null_or_absent() -> None:
    def hollow(points: dict[str, Any]) -> None:
        points["front"] = {"right": None, "left": {}, "scale": None}
        points["side"] = {"level": None}

    found = measured(spoilt(hollow))
    assert found.right.pd_mm is None
    assert found.retake


def test_free_objects_are_carried_and_change_nothing() -> None:
    def with_notes(points: dict[str, Any]) -> None:
        points["extra"] = {"desk": 3}
        points["front"]["extra"] = {"lamp": "left"}

    assert measured(spoilt(with_notes)) == measured(good_points())


def test_the_result_reads_back_as_the_same_fitting() -> None:
    fitting = measured(good_points()).model_copy(update={"file": "marks.json"})
    line = json_line(fitting)
    assert "\n" not in line
    assert parse(Fitting, line, format_name=FITTING_FORMAT) == fitting
    assert json.loads(line)["file"] == "marks.json"


def test_a_figure_that_is_not_known_stands_as_null() -> None:
    written = json.loads(json_line(measured(good_points(with_side=False))))
    assert written["pantoscopic_deg"] is None
    assert written["right"]["vertex_mm"] is None


def test_the_json_schemas_accept_what_the_program_reads_and_writes() -> None:
    jsonschema.validate(good_points(), FittingPoints.model_json_schema())
    jsonschema.validate(json.loads(json_line(measured(good_points()))), Fitting.model_json_schema())
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(spoilt(unknown_gaze), FittingPoints.model_json_schema())


def test_the_spreads_of_a_file_take_the_place_of_the_usual_ones() -> None:
    steady = good_points() | {"spreads": {"head_turn_deg": 0.0, "camera_sideways_mm": 0.0, "mark_sd_px": 0.5}}
    assert there(measured(steady).right.pd_mm).plus_minus < 0.4 < there(measured(good_points()).right.pd_mm).plus_minus


def test_the_shares_of_a_figure_add_up_to_one() -> None:
    fitting = measured(good_points())
    for name, shares in fitting.shares.items():
        assert sum(shares.values()) == pytest.approx(1.0), name
    assert next(iter(fitting.shares["right.pd_mm"])) == "head turn"
