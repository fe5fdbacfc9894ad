"""A lab's own access: one API user for each lab, who sees only the orders sent to that lab."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.db import transaction

from dispensing.models import StaffUser
from dispensing.roles import Role
from dispensing.services.audit import record
from dispensing.services.tokens import issue_token, revoke_token
from orders.models import Lab, LabUser


@transaction.atomic
def issue_lab_token(*, lab: Lab, actor: StaffUser, **asked: Any) -> str:
    """Issue a token for the lab's API user, who is created on the first call. The text returned is not stored.

    ``asked``: name, scope and days, as `issue_token` takes them.
    """
    lab = Lab.objects.select_for_update().get(pk=lab.pk)
    tie = lab.users.select_related("user").first() or _new_user(lab, actor)
    return issue_token(actor=actor, user=tie.user, **asked)


@transaction.atomic
def user_of(lab: Lab) -> StaffUser:
    """The lab's API user, in whose name it reports; created when the lab first does."""
    lab = Lab.objects.select_for_update().get(pk=lab.pk)
    tie = lab.users.select_related("user").first() or _new_user(lab, None)
    return tie.user


def revoke_lab_token(*, lab: Lab, actor: StaffUser, token_id: UUID) -> bool:
    """End one of the lab's tokens by its public id; False if there is no such token."""
    return any(revoke_token(actor=actor, user=tie.user, token_id=token_id) for tie in lab.users.select_related("user"))


def _new_user(lab: Lab, actor: StaffUser | None) -> LabUser:
    user = StaffUser(username=f"lab-{lab.public_id}", last_name=lab.name[:150], role=Role.LAB)
    user.set_unusable_password()
    user.save()
    record(actor=actor, verb="lab.user", target=lab, changes={"user": [None, user.username]})
    return LabUser.objects.create(user=user, lab=lab)
