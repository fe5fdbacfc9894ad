"""The one gate: every view says who may use it, and a view that says nothing is closed to all.

``@requires(ability, …)`` admits a role that has all of them, ``@signed_in`` admits any member of staff,
``@open_to_all`` admits strangers. :class:`AccessMiddleware` enforces the mark on pages, :class:`ApiAccess` on the API.
Lab users reach the API only. Anyone given a temporary password must first choose one of their own, and a manager set up
a second factor where the practice demands one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, TypeVar, cast

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from rest_framework.permissions import SAFE_METHODS, BasePermission

from dispensing.models import StaffUser
from dispensing.queries.second_factors import factors_of
from dispensing.roles import ABILITIES, Ability, Role

View = TypeVar("View", bound=Callable[..., Any] | type)


@dataclass(frozen=True)
class Access:
    """Who may use a view: anyone at all, or staff whose role has every ability named (none named: all staff)."""

    open_to_all: bool = False
    abilities: frozenset[Ability] = frozenset()
    with_temporary_password: bool = False
    without_second_factor: bool = False

    def admits(self, user: Any) -> bool:
        if self.open_to_all:
            return True
        return bool(user.is_authenticated) and self.abilities <= abilities_of(user)

    def __str__(self) -> str:
        if self.open_to_all:
            return "everyone"
        return " and ".join(sorted(self.abilities)) or "all staff"


def abilities_of(user: Any) -> frozenset[Ability]:
    return ABILITIES.get(getattr(user, "role", ""), frozenset())


def can(user: Any, *abilities: Ability) -> bool:
    return Access(abilities=frozenset(abilities)).admits(user)


def _mark(view: View, access: Access) -> View:
    view.access = access  # type: ignore[union-attr]  # functions accept the attribute as classes do
    return view


def requires(*abilities: Ability) -> Callable[[View], View]:
    return lambda view: _mark(view, Access(abilities=frozenset(abilities)))


def signed_in(view: View) -> View:
    return _mark(view, Access())


def signed_in_anyhow(view: View) -> View:
    """As ``signed_in``, and also for those who have yet to choose a password of their own."""
    return _mark(view, Access(with_temporary_password=True, without_second_factor=True))


def signed_in_without_second_factor(view: View) -> View:
    """As ``signed_in``, and also for those who have yet to set up the second factor that the practice demands."""
    return _mark(view, Access(without_second_factor=True))


def open_to_all(view: View) -> View:
    return _mark(view, Access(open_to_all=True))


def access_of(view: Callable[..., Any]) -> Access | None:
    """The mark on a view function, on the class behind it, or on a DRF viewset's class."""
    for holder in (view, getattr(view, "view_class", None), getattr(view, "cls", None)):
        access = getattr(holder, "access", None)
        if isinstance(access, Access):
            return access
    return None


def must_set_up_second_factor(request: HttpRequest) -> bool:
    """Whether the practice demands a second factor that this person has not got; asked of managers only."""
    if not getattr(request, "managers_need_second_factor", False) or getattr(request.user, "role", "") != Role.MANAGER:
        return False
    return not factors_of(cast(StaffUser, request.user))


class AccessMiddleware:
    """Lets people into pages by their mark. API views carry the same marks, which :class:`ApiAccess` checks."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Callable[..., Any], args: Iterable[Any], kwargs: dict[str, Any]
    ) -> HttpResponse | None:
        if getattr(view, "cls", None) is not None:
            return None  # A DRF view: its token is read later, and ApiAccess then makes the same check.
        access = access_of(view)
        if access is None:
            raise PermissionDenied("This page does not say who may use it.")
        if access.open_to_all:
            return None
        if not request.user.is_authenticated:
            return redirect_to_login(request.get_full_path() if request.method == "GET" else "/")
        if request.user.role == Role.LAB or not access.admits(request.user):
            raise PermissionDenied
        if request.user.password_is_temporary and not access.with_temporary_password:
            return redirect("password-change")
        if not access.without_second_factor and must_set_up_second_factor(request):
            return redirect("second-factor")
        return None


READS = "read"
"""The scope of a token that changes nothing."""


def _only_reads(request: Any, view: Any) -> bool:
    """A GET changes nothing; of the posts, those that ``only_reads`` names: the whole view, or some of its actions."""
    only_reads = getattr(view, "only_reads", ())
    return request.method in SAFE_METHODS or only_reads is True or getattr(view, "action", None) in (only_reads or ())


class ApiAccess(BasePermission):
    """Checks a DRF view's mark: ``access`` for all methods, or ``access_by_action``/``access_by_method``."""

    message = "Your role may not do this."

    def has_permission(self, request: Any, view: Any) -> bool:
        if request.method not in view.allowed_methods:
            return bool(request.user.is_authenticated)  # There is nothing to guard: the answer will be 405.
        access = self._access(request, view)
        if access is None or not access.admits(request.user):
            return False
        if getattr(request.auth, "scope", "") == READS and not _only_reads(request, view):
            self.message = "This token may only read."
            return False
        return True

    def _access(self, request: Any, view: Any) -> Access | None:
        by_action = getattr(view, "access_by_action", {})
        by_method = getattr(view, "access_by_method", {})
        for table, key in ((by_action, getattr(view, "action", None)), (by_method, request.method)):
            if key in table:
                return Access(abilities=frozenset(table[key]))
        return getattr(view, "access", None)
