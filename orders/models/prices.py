"""The practice's own price list for lenses."""

import uuid

from django.db import models

from dispensing.models import StaffUser


class PriceList(models.Model):
    """The practice's own prices: the exact text of the CSV file, which never changes, and whether it is in use."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    text = models.TextField(editable=False)
    sha256 = models.CharField(max_length=64, unique=True, editable=False)
    in_use = models.BooleanField(default=False)
    # When it last came into use; empty: it has only been looked at so far.
    used_at = models.DateTimeField(null=True, editable=False)
    loaded_at = models.DateTimeField(auto_now_add=True)
    loaded_by = models.ForeignKey(StaffUser, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.UniqueConstraint(fields=["in_use"], condition=models.Q(in_use=True), name="one_price_list_in_use"),
        ]

    def __str__(self) -> str:
        return f"price list of {self.loaded_at:%d %b %Y}"
