"""Where the log goes and how: to standard error, as lines to read or as JSON. The settings read this."""

from __future__ import annotations

from typing import Any


def logging_settings(form: str) -> dict[str, Any]:
    """``form``: "line" or "json". A fault is told by its way through the code but never by its words or a request body,
    for both hold health data (`logs`).
    """
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "filters": {"request": {"()": "dispensing.watching.logs.WithRequest"}},
        "formatters": {
            "line": {
                "()": "dispensing.watching.logs.AsLine",
                "format": "{asctime} {levelname} {name} [{request_id}]: {message}",
                "style": "{",
            },
            "json": {"()": "dispensing.watching.logs.AsJson"},
        },
        "handlers": {
            "stderr": {
                "class": "logging.StreamHandler",
                "formatter": form,
                "filters": ["request"],
            }
        },
        "root": {"handlers": ["stderr"], "level": "WARNING"},
        "loggers": {"datumline": {"level": "INFO"}},
    }
