"""The frozen document of a sent order. A database trigger refuses to change or delete a row."""

import uuid

from django.db import models

from dispensing.models import StaffUser
from orders.models.orders import Order


class OrderDocument(models.Model):
    """The exact bytes that were sent: canonical JSON with its hash, the report on it, and the PDF drawn from it."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="documents")
    number = models.CharField(max_length=20)
    revision = models.PositiveSmallIntegerField()
    text = models.TextField()
    sha256 = models.CharField(max_length=64)
    report = models.TextField()
    catalogue_sha256 = models.CharField(max_length=64, blank=True)
    pdf = models.BinaryField()
    pdf_sha256 = models.CharField(max_length=64)
    frozen_at = models.DateTimeField()
    frozen_by = models.ForeignKey(StaffUser, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["number", "-revision"]
        constraints = [
            models.UniqueConstraint(fields=["number", "revision"], name="document_once_a_revision"),
        ]

    def __str__(self) -> str:
        return f"{self.number} rev. {self.revision}"
