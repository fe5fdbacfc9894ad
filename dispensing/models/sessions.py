"""Where somebody is signed in: one row a browser, so that they can see it and end it."""

import uuid

from django.db import models
from django.utils import timezone

from dispensing.models.staff import StaffUser


class SignedIn(models.Model):
    """``session_key`` is Django's own name of the session; without a row here a session is no longer good."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    user = models.ForeignKey(StaffUser, on_delete=models.CASCADE, related_name="signed_in")
    session_key = models.CharField(max_length=40, unique=True)
    browser = models.CharField(max_length=300, blank=True)
    address = models.CharField(max_length=45, blank=True)
    first_at = models.DateTimeField(default=timezone.now)
    last_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-last_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.user} {self.first_at}"
