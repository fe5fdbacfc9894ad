"""The secrets by which the practice and a lab sign what they post to each other: made, shown once, and replaced."""

from __future__ import annotations

import base64
import secrets
from datetime import timedelta

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from dispensing.models import StaffUser
from dispensing.services.audit import record
from orders.models import Lab, LabSecret

OLD_ONE_HOLDS = timedelta(days=7)
BYTES = 32


@transaction.atomic
def make_secret(*, lab: Lab, actor: StaffUser | None) -> str:
    """A new secret, to be handed to the lab; an earlier one holds for a week beside it. The trail never shows it."""
    lab = Lab.objects.select_for_update().get(pk=lab.pk)
    lab.secrets.filter(ends_at=None).update(ends_at=timezone.now() + OLD_ONE_HOLDS)
    text = f"whsec_{base64.b64encode(secrets.token_bytes(BYTES)).decode()}"
    made = LabSecret.objects.create(lab=lab, text=text, made_by=actor)
    record(
        actor=actor, verb="lab.secret", target=lab, changes={"secret": [None, f"made {made.made_at:%Y-%m-%d %H:%M}"]}
    )
    return text


def secrets_of(lab: Lab) -> list[str]:
    """The secrets in force, the newest first."""
    in_force = Q(ends_at=None) | Q(ends_at__gt=timezone.now())
    return list(LabSecret.objects.filter(in_force, lab=lab).values_list("text", flat=True))
