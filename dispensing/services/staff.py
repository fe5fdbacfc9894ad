"""Staff: taking on, giving a role, barring and readmitting. The last manager who can sign in is never lost.

A password that somebody else has seen is temporary: the person given it must first choose another.
"""

from __future__ import annotations

import secrets
from typing import Any

from axes.utils import reset as forget_wrong_passwords
from django.db import transaction

from dispensing.models import StaffUser
from dispensing.roles import Role
from dispensing.services.audit import differing, in_words, record
from dispensing.services.meanwhile import require_version, save_next_version
from dispensing.services.sessions import end_all_sessions
from dispensing.services.tokens import revoke_all_tokens

# Letters and figures that cannot be mistaken for one another when a password is read out.
_READABLE = "abcdefghjkmnpqrstuvwxyz23456789"


class StaffRefused(ValueError):
    """Why a change to staff was refused, worded for the person who asked."""


def temporary_password() -> str:
    """Four groups of four characters, about 79 bits, to be typed once and then changed."""
    return "-".join("".join(secrets.choice(_READABLE) for _ in range(4)) for _ in range(4))


def add_staff(*, actor: StaffUser | None, fields: dict[str, Any]) -> tuple[StaffUser, str]:
    """Returns the new member of staff and the password to hand over; the password is not stored in readable form.

    ``actor``: None for the very first person, since there is nobody yet to take them on.
    """
    password = temporary_password()
    member = StaffUser(**fields, password_is_temporary=True)
    member.set_password(password)
    member.full_clean()
    with transaction.atomic():
        member.save()
        record(
            actor=actor,
            verb="staff.add",
            target=member,
            changes={"user": [None, member.username], "role": [None, member.role]},
        )
    return member, password


def change_staff(
    *, actor: StaffUser, member: StaffUser, fields: dict[str, Any], version: int | None = None
) -> StaffUser:
    """Name, registration, role, and whether the person may sign in.

    ``version``: the one the change is based on. Raises StaffRefused for the last manager, ChangedMeanwhile.
    """
    with transaction.atomic():
        managers = _managers()
        member = StaffUser.objects.select_for_update().get(pk=member.pk)
        changes = differing({name: getattr(member, name) for name in fields}, fields)
        require_version(member, version, changes)
        if not changes:
            return member
        for name in changes:
            setattr(member, name, fields[name])
        _keep_a_manager(managers, member)
        member.full_clean()
        save_next_version(member, changes)
        told = {"user": [member.username] * 2, **in_words(changes)}
        record(actor=actor, verb="staff.change", target=member, changes=told)
        if not member.is_active:
            revoke_all_tokens(actor=actor, user=member)
            end_all_sessions(user=member)
    return member


def reset_password(*, actor: StaffUser, member: StaffUser) -> str:
    """Sets a new temporary password. Whoever is signed in with the old one is signed out, and tokens end with it; any
    lock-out is lifted.
    """
    password = temporary_password()
    with transaction.atomic():
        member = _with_password(member, password, temporary=True)
        record(actor=actor, verb="staff.reset-password", target=member, changes={"user": [None, member.username]})
        revoke_all_tokens(actor=actor, user=member)
        end_all_sessions(user=member)
        forget_wrong_passwords(username=member.username)
    return password


def choose_own_password(*, member: StaffUser, password: str, end_tokens: bool = False) -> StaffUser:
    """Sets the password a member of staff chose; nobody else has seen it, so all pages are open again."""
    with transaction.atomic():
        member = _with_password(member, password, temporary=False)
        record(actor=member, verb="staff.change_password")
        if end_tokens:
            revoke_all_tokens(actor=member, user=member)
    return member


def _with_password(member: StaffUser, password: str, *, temporary: bool) -> StaffUser:
    member = StaffUser.objects.select_for_update().get(pk=member.pk)
    member.set_password(password)
    member.password_is_temporary = temporary
    member.save(update_fields=["password", "password_is_temporary"])
    return member


def _managers() -> set[int]:
    """The staff who are managers now, locked so that two managers cannot remove each other at once."""
    rows = StaffUser.objects.select_for_update().filter(role=Role.MANAGER, is_active=True)
    return set(rows.order_by("pk").values_list("pk", flat=True))


def _keep_a_manager(managers: set[int], member: StaffUser) -> None:
    manages = member.role == Role.MANAGER and member.is_active
    if not manages and managers == {member.pk}:
        raise StaffRefused(
            f"{member.display_name} is the only manager who can sign in. Make somebody else a manager first."
        )
