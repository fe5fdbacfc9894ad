"""Naming another record by its public id."""

from __future__ import annotations

import uuid
from typing import Any

from rest_framework import serializers


class ByPublicId(serializers.SlugRelatedField[Any]):
    """Another record, named by its public id; anything that is not an id matches no record."""

    default_error_messages = {"does_not_exist": "There is no {record} with the id {value}."}

    def __init__(self, model: Any = None, **kwargs: Any):
        self.model = model
        if model is not None and not kwargs.get("read_only"):
            kwargs.setdefault("queryset", model.objects.all())
        super().__init__(slug_field="public_id", **kwargs)

    def to_internal_value(self, data: Any) -> Any:
        rows = self.get_queryset()
        assert rows is not None  # None only for a field that is never written.
        try:
            return rows.get(public_id=uuid.UUID(str(data)))
        except (ValueError, rows.model.DoesNotExist):
            record = rows.model._meta.verbose_name
            self.fail("does_not_exist", record=record, value=str(data)[:40])
