"""What every part of the corpus writes alike."""

from __future__ import annotations

from datetime import date

TODAY = date(2026, 11, 25)
EYES = ("right", "left")
