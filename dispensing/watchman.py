"""What the sender does beside sending: seals what was written, notes the newest seal, and sweeps up after uploads."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings

from dispensing.evidence.heads import newest, note, noted_within_a_day
from dispensing.evidence.sealing import SEALS_AT_ONCE, Sealer

# So that a busy day does not make a seal for every row; what waits is the tail that only the triggers protect.
BETWEEN_SEALS = timedelta(seconds=30)
BETWEEN_LOOKS = timedelta(hours=1)
# No request takes that long: its process was killed.
LEFT_BEHIND = timedelta(days=1)


class Watchman:
    """One process's. Several may make their rounds."""

    def __init__(self) -> None:
        self._sealer = Sealer()
        self._sealed_at: datetime | None = None
        self._looked_at: datetime | None = None

    def round(self, now: datetime) -> None:
        if self._sealed_at is None or now - self._sealed_at >= BETWEEN_SEALS:
            all_is_sealed = self._sealer.seal() < SEALS_AT_ONCE
            self._sealed_at = now if all_is_sealed else None
        if self._looked_at is None or now - self._looked_at >= BETWEEN_LOOKS:
            self._looked_at = now
            self._look(now)

    def _look(self, now: datetime) -> None:
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
