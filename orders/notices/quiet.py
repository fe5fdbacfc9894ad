"""When patients are left in peace: hours of the night and whole days, by the clock where the practice is. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time, timedelta

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@dataclass(frozen=True, slots=True)
class Quiet:
    """From one hour to another, past midnight or not; the same twice: no hours. ``days``: 0 is Monday."""

    begins: time
    ends: time
    days: frozenset[int] = frozenset()

    def holds(self, now: datetime) -> bool:
        """Whether nobody is to be told anything now. ``now``: where the practice is."""
        if now.weekday() in self.days:
            return True
        clock = now.time()
        if self.begins <= self.ends:
            return self.begins <= clock < self.ends
        return clock >= self.begins or clock < self.ends

    def over(self, now: datetime) -> datetime:
        """When it is over: ``now`` itself if it is not quiet. With all days quiet, never; then a week from now."""
        if not self.holds(now):
            return now

        for day in range(len(DAYS) + 1):
            for clock in (time(), self.ends):
                at = datetime.combine(now.date() + timedelta(days=day), clock, now.tzinfo)
                if at > now and not self.holds(at):
                    return at
        return now + timedelta(days=len(DAYS))
