"""One row a document and channel: the outbox. Written with the document, sent by the worker, visible to people."""

import uuid

from django.db import models

from orders.models.documents import OrderDocument


class Channel(models.TextChoices):
    EMAIL = "email", "E-mail to the lab"
    DOWNLOAD = "download", "Downloaded by hand"


class DeliveryState(models.TextChoices):
    QUEUED = "queued", "Waiting to be sent"
    SENDING = "sending", "Being sent"
    RETRY_LATER = "retry_later", "To be tried again"
    SENT = "sent", "Sent"
    UNKNOWN = "unknown", "Not known whether it arrived"
    FAILED = "failed", "Could not be sent"
    WITHHELD = "withheld", "Stopped by hand"


OPEN_STATES = (DeliveryState.QUEUED, DeliveryState.RETRY_LATER)


class Delivery(models.Model):
    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    document = models.ForeignKey(OrderDocument, on_delete=models.PROTECT, related_name="deliveries")
    channel = models.CharField(max_length=10, choices=Channel.choices)
    address = models.CharField(max_length=254, blank=True)
    state = models.CharField(max_length=12, choices=DeliveryState.choices, default=DeliveryState.QUEUED)
    attempts_made = models.PositiveSmallIntegerField(default=0)
    next_try_at = models.DateTimeField()
    leased_until = models.DateTimeField(null=True, blank=True)
    problem = models.CharField(max_length=300, blank=True)
    queued_at = models.DateTimeField(auto_now_add=True)
    done_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-pk"]
        verbose_name_plural = "deliveries"
        indexes = [models.Index(fields=["state", "next_try_at"], name="delivery_due")]
        constraints = [
            models.CheckConstraint(condition=models.Q(state__in=DeliveryState.values), name="delivery_state_known"),
        ]

    def __str__(self) -> str:
        return f"{self.document} by {self.get_channel_display()}"


class DeliveryAttempt(models.Model):
    """One try: when, how it ended, and an excerpt of the reply. Never patient data."""

    delivery = models.ForeignKey(Delivery, on_delete=models.CASCADE, related_name="attempts")
    at = models.DateTimeField(auto_now_add=True)
    outcome = models.CharField(max_length=12, choices=DeliveryState.choices)
    reply = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.at} {self.outcome}"
