"""What is known of an API token besides its digest: its name, what it may do, and when it was last used."""

import uuid

from django.db import models
from knox.models import AuthToken


class Scope(models.TextChoices):
    READ = "read", "Read only"
    WRITE = "write", "Read and write"


class TokenDetail(models.Model):
    """One to a token, and gone with it. When it ends is the token's own ``expiry``."""

    token = models.OneToOneField(AuthToken, primary_key=True, on_delete=models.CASCADE, related_name="detail")
    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    name = models.CharField(max_length=60)
    scope = models.CharField(max_length=10, choices=Scope.choices, default=Scope.WRITE)
    last_used_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return self.name
