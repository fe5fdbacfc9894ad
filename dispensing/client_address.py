"""Where a request came from, seen through the proxies of this practice, and how many wrong passwords came from there.

Each proxy adds to ``X-Forwarded-For`` the address that it was asked from, so the last entries are the proxies' own word
and whatever stands before them is the client's, who may write anything. ``TRUSTED_PROXIES`` says how many to believe.
"""

from __future__ import annotations

from typing import Any

from axes.attempts import get_cool_off_threshold
from axes.handlers.database import AxesDatabaseHandler
from axes.helpers import get_client_ip_address
from axes.models import AccessAttempt
from django.conf import settings
from django.db.models import Sum
from django.http import HttpRequest


def client_address(request: HttpRequest) -> str:
    """The address of whoever asked the outermost trusted proxy; without proxies, of whoever is connected."""
    said = [part.strip() for part in request.META.get("HTTP_X_FORWARDED_FOR", "").split(",")]
    hops = [*(part for part in said if part), request.META.get("REMOTE_ADDR", "")]
    return str(hops[max(0, len(hops) - 1 - settings.TRUSTED_PROXIES)])


class LockOut(AxesDatabaseHandler):  # type: ignore[misc]  # axes has no types
    """Also closes an address that has guessed at many names, which a limit for each name would never notice."""

    def get_failures(self, request: HttpRequest, credentials: dict[str, Any] | None = None) -> int:
        """Of this name from this address; as many as close it where the address has guessed too often."""
        failures: int = super().get_failures(request, credentials)
        closed = self._guesses(request) >= settings.MOST_FAILURES_OF_AN_ADDRESS
        return max(failures, settings.AXES_FAILURE_LIMIT) if closed else failures

    def _guesses(self, request: HttpRequest) -> int:
        recent = AccessAttempt.objects.filter(
            ip_address=get_client_ip_address(request), attempt_time__gte=get_cool_off_threshold(request)
        )
        found: int | None = recent.aggregate(failures=Sum("failures_since_start"))["failures"]
        return found or 0
