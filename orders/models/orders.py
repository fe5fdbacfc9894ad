"""An order while it is being worked on: what has been chosen so far, and its state.

This row is never sent itself; the document frozen from it is.
"""

import uuid

from django.db import models

from dispensing.choice_words import label
from dispensing.models import Fitting, Frame, Patient, Prescription, StaffUser
from dispensing.models.choices import Use
from dispensing.models.versions import Versioned
from orders.causes import CAUSE_CHOICES, WHOSE_CHOICES
from orders.documents.names import FRAME_SOURCES, POWER_BASES, PRIORITIES, PURPOSES, SUPPLIES
from orders.models.labs import Catalogue, Lab
from orders.states import LABELS, OrderState


class Purpose(models.TextChoices):
    NEW = "new", label(PURPOSES["new"])
    REMAKE = "remake", label(PURPOSES["remake"])


class Priority(models.TextChoices):
    USUAL = "", label(PRIORITIES[""])
    URGENT = "urgent", label(PRIORITIES["urgent"])


class Supply(models.TextChoices):
    UNCUT = "uncut", label(SUPPLIES["uncut"])
    EDGED = "edged", label(SUPPLIES["edged"])
    FITTED = "fitted", label(SUPPLIES["fitted"])


class FrameSource(models.TextChoices):
    LAB_SUPPLIES = "lab_supplies", label(FRAME_SOURCES["lab_supplies"])
    ENCLOSED = "enclosed", label(FRAME_SOURCES["enclosed"])
    TO_FOLLOW = "to_follow", label(FRAME_SOURCES["to_follow"])
    OWN = "own", label(FRAME_SOURCES["own"])
    TRACE_ONLY = "trace_only", label(FRAME_SOURCES["trace_only"])


class PowerBasis(models.TextChoices):
    AS_PRESCRIBED = "as_prescribed", label(POWER_BASES["as_prescribed"])
    CARRIED_TO_VERTEX = "carried_to_vertex", label(POWER_BASES["carried_to_vertex"])
    AS_WORN = "as_worn", label(POWER_BASES["as_worn"])


STATE_CHOICES = [(str(state), label) for state, label in LABELS.items()]


class Order(Versioned):
    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    # The number stays with the order through its revisions; each revision is a row of its own.
    number = models.CharField(max_length=20, db_index=True, editable=False)
    revision = models.PositiveSmallIntegerField(default=1, editable=False)
    state = models.CharField(max_length=12, choices=STATE_CHOICES, default=OrderState.DRAFT.value, editable=False)
    purpose = models.CharField(max_length=10, choices=Purpose.choices, default=Purpose.NEW)
    remake_of = models.ForeignKey("self", null=True, blank=True, on_delete=models.PROTECT, related_name="remakes")
    # A remake is not sent without them.
    remake_cause = models.CharField("cause of the remake", max_length=20, choices=CAUSE_CHOICES, blank=True)
    remake_whose = models.CharField("whose it was", max_length=12, choices=WHOSE_CHOICES, blank=True)
    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="orders")
    prescription = models.ForeignKey(
        Prescription, null=True, blank=True, on_delete=models.PROTECT, related_name="orders"
    )
    frame = models.ForeignKey(Frame, null=True, blank=True, on_delete=models.PROTECT, related_name="orders")
    fitting = models.ForeignKey(Fitting, null=True, blank=True, on_delete=models.PROTECT, related_name="orders")
    # What this pair is for; empty: what the prescription is for.
    use = models.CharField("use of the pair", max_length=20, choices=Use.choices, blank=True)
    power_basis = models.CharField("what the powers allow for", max_length=20, choices=PowerBasis.choices, blank=True)
    # Powers stated to be made, as in lens-order/1 by eye; an eye without one follows prescription and use.
    powers = models.JSONField(default=dict, blank=True)
    lab = models.ForeignKey(Lab, null=True, blank=True, on_delete=models.PROTECT, related_name="orders")
    catalogue = models.ForeignKey(Catalogue, null=True, blank=True, on_delete=models.PROTECT, related_name="orders")
    # As in lens-order/1: {"right": {...} or null, "left": {...} or null}.
    lenses = models.JSONField(default=dict, blank=True)
    kept_lens = models.JSONField(null=True, blank=True)
    # Stops lifted and asks confirmed, each with rule, eye, reason, by, and the facts it was about.
    lifted = models.JSONField(default=list, blank=True)
    # Who answers for the supply to a protected person; the document has it as ordered_by.
    registered = models.ForeignKey(StaffUser, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    other_pair = models.BooleanField("another usable pair exists", null=True, blank=True)
    supply = models.CharField(max_length=6, choices=Supply.choices, default=Supply.FITTED)
    priority = models.CharField(max_length=6, choices=Priority.choices, blank=True, default=Priority.USUAL)
    frame_source = models.CharField(max_length=12, choices=FrameSource.choices, blank=True)
    needed_on = models.DateField("needed on", null=True, blank=True)
    remarks = models.TextField(max_length=1000, blank=True)
    # The place (orders.progress.Place) after the last event, kept with the events for lists and filters.
    place = models.CharField(max_length=30, default="draft", editable=False)
    # The day the lab last promised, and when the last event was written, kept with the events in the same way.
    promised_on = models.DateField(null=True, editable=False)
    moved_at = models.DateTimeField(null=True, editable=False, db_index=True)
    # Since when it has been at that place, and the day it is expected from the lab: as promised, or as usual there.
    place_since = models.DateTimeField(null=True, editable=False)
    expected_on = models.DateField(null=True, editable=False)
    # Withdrawn, and the lab was told and has not said that it knows.
    to_acknowledge = models.BooleanField(default=False, db_default=False, editable=False)
    # Where the pair lies while it is here; empty again once it has left.
    tray = models.CharField(max_length=12, blank=True, editable=False)
    verdict = models.CharField(max_length=5, blank=True, editable=False)
    created_at = models.DateTimeField(auto_now_add=True)
    created_by = models.ForeignKey(StaffUser, null=True, on_delete=models.PROTECT, related_name="+")
    saved_at = models.DateTimeField(auto_now=True)
    saved_by = models.ForeignKey(StaffUser, null=True, on_delete=models.PROTECT, related_name="+")
    sent_at = models.DateTimeField(null=True, blank=True, editable=False)
    sent_by = models.ForeignKey(StaffUser, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-pk"]
        indexes = [
            models.Index(fields=["state", "-id"], name="order_by_state"),
            models.Index(fields=["place", "needed_on"], name="order_by_place"),
            models.Index(fields=["place", "place_since", "id"], name="order_by_stay"),
            models.Index(fields=["id"], condition=models.Q(to_acknowledge=True), name="order_to_acknowledge"),
        ]
        constraints = [
            models.UniqueConstraint(fields=["number", "revision"], name="order_once_a_revision"),
            models.UniqueConstraint(fields=["tray"], condition=~models.Q(tray=""), name="one_pair_in_a_tray"),
            models.CheckConstraint(
                condition=models.Q(state__in=[str(state) for state in OrderState]), name="order_state_known"
            ),
            models.CheckConstraint(
                condition=models.Q(state="draft")
                | models.Q(state="cancelled")
                | models.Q(sent_at__isnull=False, lab__isnull=False),
                name="sent_order_has_lab_and_time",
            ),
        ]

    def __str__(self) -> str:
        return self.number

    @property
    def is_draft(self) -> bool:
        return self.state == OrderState.DRAFT
