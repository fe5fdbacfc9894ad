"""What the sender does beside sending: seals what was written, notes the newest seal, and sweeps up after uploads."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings

from dispensing.evidence.heads import newest, note, noted_within_a_day
from dispensing.evidence.sealing import Sealer

BETWEEN_LOOKS = timedelta(hours=1)
# No request takes that long: its process was killed.
LEFT_BEHIND = timedelta(days=1)


class Watchman:
    """One process's. Several may make their rounds."""

    def __init__(self) -> None:
        self._sealer = Sealer()
        self._not_before: datetime | None = None

    def round(self, now: datetime) -> None:
        self._sealer.seal()
        if self._not_before is not None and now < self._not_before:
            return
        self._not_before = now + BETWEEN_LOOKS
        head = newest()
        if head is not None and not noted_within_a_day(now):
            note(head)
        sweep(Path(settings.FILE_UPLOAD_TEMP_DIR), now)


def sweep(folder: Path, now: datetime) -> int:
    """Delete what uploads have left in the folder; returns how many files those were."""
    before = (now - LEFT_BEHIND).timestamp()
    left = [path for path in folder.glob("*") if path.is_file() and path.stat().st_mtime < before]
    for path in left:
        path.unlink(missing_ok=True)
    return len(left)
