"""People who sign in. A role is the only source of rights; see :mod:`dispensing.roles`."""

from django.contrib.auth.models import AbstractUser
from django.db import models

from dispensing.models.versions import Versioned
from dispensing.roles import Role


class StaffUser(Versioned, AbstractUser):
    """A member of staff, or a lab's API user (role ``lab``, which cannot open pages)."""

    role = models.CharField(max_length=20, choices=Role.choices, default=Role.FRONT_DESK)
    registration_body = models.CharField(
        "registered with", max_length=40, blank=True, help_text="The professional register, as in GOC."
    )
    registration = models.CharField(
        "registration number", max_length=40, blank=True, help_text="With the professional register, if any."
    )
    # Until the password is changed, the pages only ask the person to choose their own.
    password_is_temporary = models.BooleanField(default=False, editable=False)

    class Meta:
        ordering = ["username"]
        constraints = [
            models.CheckConstraint(condition=models.Q(role__in=Role.values), name="staff_role_known"),
        ]

    def __str__(self) -> str:
        return self.display_name

    @property
    def registered_as(self) -> str:
        """The registration with its body, ``GOC D-10442``; empty if there is none."""
        number = self.registration.strip()
        return f"{self.registration_body} {number}".strip() if number else ""

    @property
    def display_name(self) -> str:
        return self.get_full_name() or self.username
