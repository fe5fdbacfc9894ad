"""The outbox: one row a message and channel, written with what it is about, sent by the worker, shown to people."""

import uuid

from django.db import models

from dispensing.models import StaffUser
from orders.delivery_states import STATE_LABELS, STEP_LABELS, DeliveryState
from orders.models.documents import OrderDocument
from orders.models.events import OrderEvent


class Channel(models.TextChoices):
    EMAIL = "email", "E-mail to the lab"
    HTTPS = "https", "Signed post to the lab's own address"
    FOLDER = "folder", "Folder that the lab watches"
    API = "api", "Fetched by the lab over the API"
    DOWNLOAD = "download", "Downloaded by hand"
    SMS = "sms", "Text message"


class Message(models.TextChoices):
    """What a delivery tells the lab about the document, or the patient about the pair."""

    ORDER = "order", "Order"
    WITHDRAWAL = "withdrawal", "Not to be made any more"
    ANSWER = "answer", "Answer to the lab's question"
    NOTICE = "notice", "Notice to the patient"


STATE_CHOICES = [(state.value, label) for state, label in STATE_LABELS.items()]
STEP_CHOICES = [(step.value, label) for step, label in STEP_LABELS.items()]


class Delivery(models.Model):
    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    document = models.ForeignKey(OrderDocument, on_delete=models.PROTECT, related_name="deliveries")
    message = models.CharField(max_length=10, choices=Message.choices, default=Message.ORDER)
    # What the message is about besides its document: the answer, or why the order came out of force.
    event = models.ForeignKey(OrderEvent, null=True, on_delete=models.PROTECT, related_name="deliveries")
    channel = models.CharField(max_length=10, choices=Channel.choices)
    address = models.CharField(max_length=500, blank=True)
    state = models.CharField(max_length=12, choices=STATE_CHOICES, default=DeliveryState.QUEUED.value)
    attempts_made = models.PositiveSmallIntegerField(default=0)
    # An earlier attempt may have arrived; it is repeated only where the lab refuses what it has already.
    unclear = models.BooleanField(default=False)
    next_try_at = models.DateTimeField()
    leased_until = models.DateTimeField(null=True, blank=True)
    problem = models.CharField(max_length=300, blank=True)
    queued_at = models.DateTimeField(auto_now_add=True)
    done_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-pk"]
        verbose_name_plural = "deliveries"
        indexes = [models.Index(fields=["state", "channel", "next_try_at", "id"], name="delivery_due_by_way")]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(state__in=[state.value for state in DeliveryState]), name="delivery_state_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.document} by {self.get_channel_display()}"


class DeliveryAttempt(models.Model):
    """One change to a delivery, or an attempt that ended too late to change it. It never holds patient data.

    ``step``: what was done (empty in rows from before steps were kept). ``outcome``: the state after it. ``reply``:
    an excerpt of the answer, or the reason. ``actor``: the person who did it; None if it was the sender.
    """

    delivery = models.ForeignKey(Delivery, on_delete=models.CASCADE, related_name="attempts")
    at = models.DateTimeField(auto_now_add=True)
    step = models.CharField(max_length=12, choices=STEP_CHOICES, blank=True)
    outcome = models.CharField(max_length=12, choices=STATE_CHOICES)
    reply = models.CharField(max_length=300, blank=True)
    actor = models.ForeignKey(StaffUser, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.at} {self.step or self.outcome}"


class Sender(models.Model):
    """A program that sends what waits in the outbox, and when it was last known to be running."""

    name = models.CharField(max_length=120, unique=True)
    started_at = models.DateTimeField()
    seen_at = models.DateTimeField(db_index=True)

    def __str__(self) -> str:
        return self.name
