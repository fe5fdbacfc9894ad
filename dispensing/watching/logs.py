"""The log as lines to read or as JSON (``LOG_FORMAT``), each with the number of its request and without patient data.

What a fault says of itself may quote what somebody typed or a whole row of the database. So of an exception the log has
its kind, the way it took through the code, and the code that a database or the system gave it, but never its words;
only with ``DEBUG``, where no real patient should be, are they there.
"""

from __future__ import annotations

import logging
import traceback
from types import TracebackType
from typing import Any

from django.conf import settings
from pythonjsonlogger.json import JsonFormatter

from dispensing.watching import request_id

ExceptionInfo = tuple[type[BaseException], BaseException, TracebackType | None] | tuple[None, None, None]
FIELDS = ("levelname", "name", "message")


class WithRequest(logging.Filter):
    """Adds ``request_id`` to each record; "-" outside any request."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.request_id = request_id.current() or "-"
        return True


class AsLine(logging.Formatter):
    def formatException(self, ei: Any) -> str:
        return told(ei) if _is_private() else super().formatException(ei)


class AsJson(JsonFormatter):
    """One object a line: time (ISO 8601), level, logger, message, request_id, and the fault if there was one."""

    def __init__(self) -> None:
        super().__init__(
            list(FIELDS),
            rename_fields={"levelname": "level", "name": "logger", "exc_info": "fault"},
            timestamp="time",
            json_ensure_ascii=False,
        )

    def add_fields(self, log_data: dict[str, Any], record: logging.LogRecord, message_dict: dict[str, Any]) -> None:
        # Only what is named here: what a library adds to its records may be a whole request.
        known = logging.makeLogRecord({name: getattr(record, name) for name in ("levelname", "name", "created")})
        known.message = record.getMessage()
        super().add_fields(log_data, known, message_dict)
        log_data["request_id"] = getattr(record, "request_id", "-")

    def formatException(self, ei: Any) -> str:
        return told(ei) if _is_private() else str(super().formatException(ei))


def _is_private() -> bool:
    return not settings.DEBUG


def told(found: ExceptionInfo) -> str:
    """An exception and what it was raised from, innermost first, without their words."""
    chain: list[BaseException] = []
    fault = found[1]
    while fault is not None and fault not in chain:
        chain.append(fault)
        fault = fault.__cause__ or (None if fault.__suppress_context__ else fault.__context__)
    return "\n".join(_one(fault) for fault in reversed(chain))


def _one(fault: BaseException) -> str:
    way = "".join(traceback.format_list(traceback.extract_tb(fault.__traceback__)))
    codes = [
        str(getattr(fault, name)) for name in ("sqlstate", "sqlite_errorname", "errno") if getattr(fault, name, None)
    ]
    kind = f"{type(fault).__module__}.{type(fault).__qualname__}"
    return f"{way}{kind}{f' ({codes[0]})' if codes else ''}"
