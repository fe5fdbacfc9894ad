"""Our documents in the OpenAPI description: the same JSON Schemas as ``manage.py schemas`` writes, by reference."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from dispensing.api.as_typed import Faults, faults_in_document
from dispensing.documents import InvalidDocument
from orders.documents.json_schemas import FORMATS, component_name, components_of

ORDER, CATALOGUE, REPORT, OPTION = "lens-order/1", "lens-catalogue/1", "order-report/1", "lens-option/1"
READINGS, VERDICT = "finished-readings/1", "finished-verdict/1"
FRAMES, FRAME_OPTION = "frame-stock/1", "frame-option/1"
PLACE = "#/components/schemas/"


def described(format_name: str, part: str = "") -> dict[str, Any]:
    """A reference to the schema of a document, or of a named part of it."""
    return {"$ref": PLACE + component_name(format_name, part)}


def with_documents(result: dict[str, Any], **kwargs: Any) -> dict[str, Any]:
    """Add every format and its parts to the components of the description."""
    schemas = result.setdefault("components", {}).setdefault("schemas", {})
    for format_name in FORMATS:
        schemas.update(components_of(format_name, PLACE))
    return result


@extend_schema_field(described(ORDER))
class OrderField(serializers.JSONField):
    """A whole ``lens-order/1``."""


@extend_schema_field(described(CATALOGUE))
class CatalogueField(serializers.JSONField):
    """A whole ``lens-catalogue/1``."""


@extend_schema_field(described(REPORT))
class ReportField(serializers.JSONField):
    """A whole ``order-report/1``."""


@extend_schema_field(described(OPTION))
class OptionField(serializers.JSONField):
    """A whole ``lens-option/1``."""


@extend_schema_field(described(READINGS))
class ReadingsField(serializers.JSONField):
    """A whole ``finished-readings/1``."""


@extend_schema_field(described(VERDICT))
class VerdictField(serializers.JSONField):
    """A whole ``finished-verdict/1``."""


@extend_schema_field(described(FRAMES))
class StockField(serializers.JSONField):
    """A whole ``frame-stock/1``."""


@extend_schema_field(described(FRAME_OPTION))
class FrameOptionField(serializers.JSONField):
    """A whole ``frame-option/1``."""


def document_of(values: Any, path: str, parse: Callable[[str], Any], faults: Faults) -> Any:
    """The document in a body. If it is not valid, its faults join the others, so that all are reported at once."""
    try:
        return parse(json.dumps(values))
    except InvalidDocument as refused:
        faults.update(faults_in_document(refused, path))
        return None
