"""Reading where somebody is signed in."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from django.conf import settings
from django.utils import timezone

from dispensing.models import SignedIn, StaffUser


def sessions_of(user: StaffUser) -> Sequence[SignedIn]:
    """The browsers in which ``user`` is signed in, the one last used first."""
    since = timezone.now() - timedelta(seconds=settings.SESSION_COOKIE_AGE)
    return list(SignedIn.objects.filter(user=user, first_at__gte=since))
