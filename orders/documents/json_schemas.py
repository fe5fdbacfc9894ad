"""JSON Schemas (2020-12) of all formats, made from the classes that parse them, so that both always agree.

A schema can express less than the parser: it cannot see that a key is repeated. Pure.
"""

from __future__ import annotations

from typing import Any

from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema

from dispensing.documents import DocumentPart, list_or_nothing, object_or_nothing
from dispensing.fitting.documents import FITTING_FORMAT, POINTS_FORMAT, Fitting, FittingPoints
from orders.documents import (
    finished_pair,
    frame_option,
    frame_stock,
    lens_catalogue,
    lens_option,
    lens_order,
    order_report,
)

DIALECT = "https://json-schema.org/draft/2020-12/schema"
FORMATS: dict[str, type[DocumentPart]] = {
    lens_order.FORMAT: lens_order.LensOrder,
    lens_catalogue.FORMAT: lens_catalogue.LensCatalogue,
    order_report.FORMAT: order_report.OrderReport,
    lens_option.FORMAT: lens_option.LensOption,
    frame_stock.FORMAT: frame_stock.FrameStock,
    frame_option.FORMAT: frame_option.FrameOption,
    POINTS_FORMAT: FittingPoints,
    FITTING_FORMAT: Fitting,
    finished_pair.READINGS_FORMAT: finished_pair.FinishedReadings,
    finished_pair.VERDICT_FORMAT: finished_pair.FinishedVerdict,
}


class _Generator(GenerateJsonSchema):
    """Marks nullable lists and objects as nullable: the parser accepts null before its own schema comes into play."""

    def function_before_schema(self, schema: core_schema.BeforeValidatorFunctionSchema) -> JsonSchemaValue:
        inner = super().function_before_schema(schema)
        if schema["function"]["function"] in (list_or_nothing, object_or_nothing):
            return {"anyOf": [inner, {"type": "null"}]}
        return inner


def schema_of(format_name: str) -> dict[str, Any]:
    """The schema of one format. Its ``$id`` never changes; each version of the format has its own."""
    made = FORMATS[format_name].model_json_schema(schema_generator=_Generator, by_alias=True)
    required = sorted({"format", *made.get("required", ())})
    return {"$schema": DIALECT, "$id": schema_id(format_name), **made, "required": required}


def components_of(format_name: str, place: str) -> dict[str, dict[str, Any]]:
    """The schema of one format and of each part of it, by names that refer to each other at ``place``."""
    made = FORMATS[format_name].model_json_schema(
        schema_generator=_Generator, by_alias=True, ref_template=place + component_name(format_name, "{model}")
    )
    parts = made.pop("$defs", {})
    required = sorted({"format", *made.get("required", ())})
    named = {component_name(format_name, name): part for name, part in parts.items()}
    return {component_name(format_name): {**made, "required": required}, **named}


def component_name(format_name: str, part: str = "") -> str:
    """``lens-order/1`` → ``lens-order-1``; with a part ``lens-order-1.FramePart``."""
    return format_name.replace("/", "-") + (f".{part}" if part else "")


def schema_id(format_name: str) -> str:
    """``lens-order/1`` → ``urn:datumline:format:lens-order:1``."""
    return "urn:datumline:format:" + format_name.replace("/", ":")


def file_name(format_name: str) -> str:
    """``lens-order/1`` → ``lens-order-1.schema.json``."""
    return format_name.replace("/", "-") + ".schema.json"
