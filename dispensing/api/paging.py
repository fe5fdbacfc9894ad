"""Lists paged by key, newest first; never by offset, and never by a name, because the key is part of the address."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError
from rest_framework.exceptions import NotFound
from rest_framework.exceptions import ValidationError as Refused
from rest_framework.pagination import CursorPagination

from dispensing.reading_trace import shown_in_list


class ByKey(CursorPagination):
    page_size = 50
    ordering: Any = "-pk"

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        """The OpenAPI 3.1 schema of one page; in 3.1 a value that may be null says so in its type."""
        address = {"type": ["string", "null"], "format": "uri"}
        return {
            "type": "object",
            "required": ["next", "previous", "results"],
            "properties": {"next": address, "previous": address, "results": schema},
        }

    def paginate_queryset(self, queryset: Any, request: Any, view: Any = None) -> list[Any] | None:
        """One page. A key that was tampered with may hold a value of the wrong type for the list's order.

        An unknown filter is a fault: the caller would take the whole list for the filtered part of it.
        """
        known = {self.cursor_query_param, *getattr(view, "narrowed_by", ())}
        if unknown := set(request.query_params) - known:
            raise Refused(dict.fromkeys(sorted(unknown), "This list cannot be filtered by that."))
        try:
            page: list[Any] | None = super().paginate_queryset(queryset, request, view)
        except (ValueError, TypeError, OverflowError, ValidationError):
            raise NotFound(self.invalid_cursor_message) from None
        shown_in_list(request, page or ())
        return page
