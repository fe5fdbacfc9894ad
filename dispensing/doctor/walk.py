"""How a check goes over a table of any size: in batches by key, telling how far it is, and able to go on another day.

No cursor stays open between two batches, and no more than one batch is in memory.
"""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from django.db.models import QuerySet

ROWS_OF_A_BATCH = 200
SECONDS_BETWEEN_WORDS = 2.0
Tell = Callable[[str], None]


@dataclass
class Place:
    """How far each walk has come, and what was found so far; kept in a file, if there is one."""

    path: Path | None = None
    reached: dict[str, Any] = field(default_factory=dict)
    found: list[list[str]] = field(default_factory=list)

    @classmethod
    def kept_in(cls, path: Path) -> Place:
        """As it was left; a new one if nothing was. Raises `ValueError` for a file that is none of ours."""
        if not path.exists():
            return cls(path)
        kept = json.loads(path.read_text())
        return cls(path, kept["reached"], kept["found"])

    def keep(self) -> None:
        if self.path is not None:
            with suppress(OSError):  # a disk that is full is no reason to look at nothing
                self.path.write_text(json.dumps({"reached": self.reached, "found": self.found}))

    def forget(self) -> None:
        """All is done: the next time begins from the start."""
        if self.path is not None:
            with suppress(OSError):
                self.path.unlink(missing_ok=True)


@dataclass
class Walk:
    """What somebody who calls the doctor asks of the long checks.

    ``since``: leave out rows written before, where they are only ever added. ``heads``: number and hash of seals that
    somebody kept elsewhere.
    """

    since: datetime | None = None
    heads: tuple[tuple[int, str], ...] = ()
    place: Place = field(default_factory=Place)
    tell: Tell = lambda said: None
    _told_at: float = field(default_factory=time.monotonic)

    def over(
        self, name: str, rows: QuerySet[Any, Any], *, key: str = "pk", batch: int = ROWS_OF_A_BATCH
    ) -> Iterator[list[Any]]:
        """The rows in batches, in the order of ``key``, from where the last call of this name was broken off.

        rows: instances or dictionaries that have the key.
        """
        went = self.place.reached.setdefault(name, {"after": None, "seen": 0, "done": False})
        total = 0 if went["done"] else rows.count()
        while not went["done"]:
            left = rows if went["after"] is None else rows.filter(**{f"{key}__gt": went["after"]})
            found = list(left.order_by(key)[:batch])
            if found:
                yield found
                went.update(after=_key_of(found[-1], key), seen=went["seen"] + len(found))
            went["done"] = len(found) < batch
            self._say(f"{name}: {went['seen']:,} of {total:,}")

    def seen(self, name: str) -> int:
        """How many rows a walk went over, before it was broken off as well."""
        return int(self.place.reached.get(name, {}).get("seen", 0))

    def _say(self, said: str) -> None:
        now = time.monotonic()
        if now - self._told_at < SECONDS_BETWEEN_WORDS:
            return
        self._told_at = now
        self.place.keep()
        self.tell(said)


def _key_of(row: Any, key: str) -> Any:
    return row[key] if isinstance(row, dict) else getattr(row, key)
