"""The published schemas: valid 2020-12, one per format, and in agreement with the parser."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from django.core.management import call_command

from dispensing.documents import InvalidDocument
from orders.documents.canonical import plain
from orders.documents.json_schemas import FORMATS, schema_of
from orders.documents.lens_catalogue import parse_catalogue
from orders.documents.lens_order import parse_order
from orders.rules import check
from tests.orders.orders_on_paper import CATALOGUE_DOCUMENT, ORDER, order
from tests.orders.shop import CATALOGUE

DEMO = Path(__file__).resolve().parents[3] / "fixtures" / "demo"


def validator(format_name: str) -> Any:
    return jsonschema.Draft202012Validator(
        schema_of(format_name), format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER
    )


@pytest.mark.parametrize("format_name", FORMATS)
def test_each_schema_is_valid_and_has_a_name_that_never_changes(format_name: Any) -> None:
    schema = schema_of(format_name)
    jsonschema.Draft202012Validator.check_schema(schema)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema["$id"] == "urn:datumline:format:" + format_name.replace("/", ":")
    assert schema["properties"]["format"]["const"] == format_name
    assert "format" in schema["required"]
    assert schema["additionalProperties"] is False


def test_each_format_has_its_schema() -> None:
    assert sorted(FORMATS) == [
        "finished-readings/1",
        "finished-verdict/1",
        "fitting-points/1",
        "fitting/1",
        "frame-option/1",
        "frame-stock/1",
        "lens-catalogue/1",
        "lens-option/1",
        "lens-order/1",
        "order-report/1",
    ]


def test_orders_catalogues_and_reports_fit_their_schemas() -> None:
    validator("lens-order/1").validate(ORDER)
    validator("lens-catalogue/1").validate(CATALOGUE)
    report = check(order(fitting__right__pd_mm=24.0), CATALOGUE_DOCUMENT)
    validator("order-report/1").validate({"format": "order-report/1", **plain(report)})


@pytest.mark.parametrize("path", sorted(DEMO.glob("catalogue-*.json")), ids=lambda path: path.name)
def test_the_demo_catalogues_fit_the_schema(path: Any) -> None:
    validator("lens-catalogue/1").validate(json.loads(path.read_text()))


NULLS = [
    ("prescription", {"right": None, "left": {"prism": None}}),
    ("lenses", {"right": {"treatments": None}, "left": None}),
    ("fitting", {"right": None}),
    ("previous_prescription", None),
    ("lifted", None),
    ("frame", {"shape": {"side": "right", "radii_mm": [25.0, None]}}),
    ("frame", {"shape": {"side": "left", "radii_mm": None}}),
    *((part, None) for part in ("practice", "lab", "patient", "prescription", "frame", "fitting", "lenses")),
]


@pytest.mark.parametrize(("part", "value"), NULLS, ids=str)
def test_what_may_be_null_for_the_parser_may_be_null_for_the_schema(part: Any, value: Any) -> None:
    document = {**ORDER, part: value}
    parse_order(json.dumps(document))
    validator("lens-order/1").validate(document)


FAULTS = [
    {"number": 7},
    {"colour": "red"},
    {"supply": "posted"},
    {"ordered_on": "25.11.2026"},
    {"ordered_on": "1764028800"},
    {"needed_on": "2026-12-04T00:00:00"},
    {"revision": 1.5},
    {"frame": {"a_mm": "52"}},
    {"frame": {"shape": {"side": "both", "radii_mm": []}}},
    {"lenses": {"right": {"treatments": "ar"}}},
    {"format": "lens-order/2"},
]


@pytest.mark.parametrize("fault", FAULTS, ids=str)
def test_what_the_parser_refuses_the_schema_refuses_too(fault: dict[str, Any]) -> None:
    document = {**ORDER, **fault}
    with pytest.raises(InvalidDocument):
        parse_order(json.dumps(document))
    assert not validator("lens-order/1").is_valid(document)


@pytest.mark.parametrize("part", [{"revision": 1.0}, {"fitting": {"readings": 2.0}}], ids=str)
def test_a_whole_number_is_whole_however_it_is_written(part: dict[str, Any]) -> None:
    document = {**ORDER, **part}
    parse_order(json.dumps(document))
    validator("lens-order/1").validate(document)


def test_a_catalogue_with_null_lists_is_taken_by_both() -> None:
    designs = [{**CATALOGUE["designs"][0], "corridors": None, "blanks": None, "needs": None}]
    document = {**CATALOGUE, "designs": designs}
    parse_catalogue(json.dumps(document))
    validator("lens-catalogue/1").validate(document)


def test_the_command_writes_one_file_a_format(tmp_path: Path) -> None:
    call_command("schemas", "--to", str(tmp_path / "new" / "folder"))
    written = sorted((tmp_path / "new" / "folder").iterdir())
    assert [path.name for path in written][:2] == ["finished-readings-1.schema.json", "finished-verdict-1.schema.json"]
    assert {json.loads(path.read_text())["$id"] for path in written} == {schema_of(name)["$id"] for name in FORMATS}
