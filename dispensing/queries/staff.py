"""Reading staff: who works here, and which tokens have been issued."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, TypedDict

from django.db.models import Count, QuerySet

from dispensing.models import StaffUser, TokenDetail
from dispensing.roles import Role

if TYPE_CHECKING:
    from django_stubs_ext import WithAnnotations

    class HowManyTokens(TypedDict):
        tokens: int


def staff_members() -> QuerySet[WithAnnotations[StaffUser, HowManyTokens]]:
    """All staff with their number of tokens (``tokens``); those who may sign in come first. Lab users are not staff."""
    members = StaffUser.objects.exclude(role=Role.LAB).annotate(tokens=Count("auth_token_set"))
    return members.order_by("-is_active", "last_name", "first_name", "username")


def at_work() -> QuerySet[StaffUser]:
    """Whom a patient can wait for: all who may sign in, by name. Lab users are not staff."""
    return StaffUser.objects.filter(is_active=True).exclude(role=Role.LAB).order_by("first_name", "last_name", "pk")


def measuring_staff() -> QuerySet[StaffUser]:
    """Who can have taken a measurement."""
    return StaffUser.objects.filter(is_active=True, role__in=[Role.DISPENSER, Role.MANAGER])


def tokens_of(user: StaffUser) -> Sequence[TokenDetail]:
    """What is known of the tokens, newest first. No token can be read again."""
    return list(TokenDetail.objects.filter(token__user=user).select_related("token").order_by("-token__created"))
