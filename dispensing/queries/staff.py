"""Reading staff: who works here, and what tokens are out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, TypedDict

from django.db.models import Count, QuerySet
from knox.models import AuthToken

from dispensing.models import StaffUser
from dispensing.roles import Role

if TYPE_CHECKING:
    from django_stubs_ext import WithAnnotations

    class HowManyTokens(TypedDict):
        tokens: int


def staff_members() -> QuerySet[WithAnnotations[StaffUser, HowManyTokens]]:
    """All staff with the number of their tokens (``tokens``); those who may sign in first. Labs' users are no staff."""
    members = StaffUser.objects.exclude(role=Role.LAB).annotate(tokens=Count("auth_token_set"))
    return members.order_by("-is_active", "last_name", "first_name", "username")


def measuring_staff() -> QuerySet[StaffUser]:
    """Who can have taken a measurement."""
    return StaffUser.objects.filter(is_active=True, role__in=[Role.DISPENSER, Role.MANAGER])


def tokens_of(user: StaffUser) -> Sequence[AuthToken]:
    """Newest first. A token itself cannot be read again, only its first letters."""
    return list(AuthToken.objects.filter(user=user).order_by("-created"))
