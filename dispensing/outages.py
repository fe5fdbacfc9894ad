"""What is wrong with the machine and not with the program: a database that is away, a disk that is full, a lost file.

Each is told in a sentence on pages, in the API and by commands, with what to do; `outage_of` finds it in the exception
that came of it. Nothing is repaired here. It must not import Django's settings: commands ask it when those are broken.
"""

from __future__ import annotations

import errno
from collections.abc import Iterator
from dataclasses import dataclass


@dataclass(frozen=True)
class Outage:
    """``status``: of HTTP. ``said``: for whoever works with it. ``to_do``: for whoever looks after the server."""

    status: int
    title: str
    said: str
    to_do: str

    @property
    def line(self) -> str:
        return f"{self.said} {self.to_do}"


AWAY = Outage(
    503,
    "The database cannot be reached",
    "The database does not answer at the moment.",
    "Start the database server, or correct DATABASE_URL; manage.py doctor says more.",
)
BUSY = Outage(
    503,
    "The database is busy",
    "The database has too much to do at the moment.",
    "Try again in a minute; if it stays so, allow it more connections (DATABASE_POOL).",
)
DAMAGED = Outage(
    503,
    "The database is damaged",
    "The database cannot be read: its file is damaged or is no database.",
    "Stop everything, keep the file, and restore the last backup; manage.py doctor says more.",
)
NOT_SET_UP = Outage(
    503,
    "The database is not set up",
    "The database lacks tables that this version needs.",
    "Run: manage.py migrate",
)
FULL = Outage(
    507,
    "The disk is full",
    "The disk of the server is full, so that nothing can be saved. Everything saved before can still be read.",
    "Make room on the disk of the database and of the data folder.",
)
READ_ONLY = Outage(
    507,
    "Nothing can be saved",
    "The server cannot write to its disk or database, so that nothing can be saved. "
    "Everything saved before can still be read.",
    "See that the disk of the database and of the data folder is sound and may be written to.",
)
FILE_MISSING = Outage(
    404,
    "The file is missing",
    "The file of this scan or photo is missing on the server. What else is on record about it is still there.",
    "Restore it from a backup of the data folder; manage.py doctor lists what is missing.",
)

BY_ERRNO = {
    errno.ENOSPC: FULL,
    errno.EDQUOT: FULL,
    errno.EFBIG: FULL,
    errno.EROFS: READ_ONLY,
    errno.EACCES: READ_ONLY,
    errno.EPERM: READ_ONLY,
    errno.EIO: READ_ONLY,
    errno.ENOENT: FILE_MISSING,
}
# SQLite's primary result codes, and what a table or column that is missing is called in its message.
BY_SQLITE_CODE = {5: BUSY, 6: BUSY, 8: READ_ONLY, 10: READ_ONLY, 11: DAMAGED, 13: FULL, 14: AWAY, 26: DAMAGED}
SQLITE_LACKS = ("no such table", "no such column")
# PostgreSQL's SQLSTATE, whole or its class.
BY_SQLSTATE = {
    "53100": FULL,
    "25006": READ_ONLY,
    "42P01": NOT_SET_UP,
    "42703": NOT_SET_UP,
    "53": BUSY,
    "55P03": BUSY,
    "08": AWAY,
    "57P": AWAY,
    "28": AWAY,
    "3D": AWAY,
    "58": READ_ONLY,
    "XX001": DAMAGED,
}
DATABASE_AWAY = ("OperationalError", "InterfaceError")


def outage_of(fault: BaseException | None) -> Outage | None:
    """The outage behind an exception, or None if it is a fault of the program or of what was asked."""
    for one in _chain(fault):
        found = _of_database(one) or (BY_ERRNO.get(one.errno or 0) if isinstance(one, OSError) else None)
        if found:
            return found
    return None


def _chain(fault: BaseException | None) -> Iterator[BaseException]:
    """The exception and what it was raised from, innermost first: the driver knows more than what wraps it."""
    chain = []
    while fault is not None and fault not in chain:
        chain.append(fault)
        fault = fault.__cause__
    return reversed(chain)


def _of_database(fault: BaseException) -> Outage | None:
    code = getattr(fault, "sqlite_errorcode", None)
    if isinstance(code, int):
        return NOT_SET_UP if str(fault).startswith(SQLITE_LACKS) else BY_SQLITE_CODE.get(code & 0xFF)
    if not type(fault).__module__.startswith(("psycopg", "django.db")):
        return None
    state = getattr(fault, "sqlstate", None)
    if state:
        return next((BY_SQLSTATE[state[:length]] for length in (5, 3, 2) if state[:length] in BY_SQLSTATE), None)
    # Without a state nobody answered who could have given one.
    away = any(kind.__name__ in DATABASE_AWAY for kind in type(fault).__mro__)
    return AWAY if away and fault.__cause__ is None else None
