"""Frames: the practice's stock and patients' own, with boxed sizes (ISO 8624) and, where known, the shape."""

from __future__ import annotations

import uuid
from decimal import Decimal

from django.db import models

from dispensing.choice_words import FRAME_MATERIALS, label
from dispensing.models.choices import Mount
from dispensing.models.patients import Patient
from dispensing.models.versions import Versioned


class FrameMaterial(models.TextChoices):
    PLASTIC = "plastic", label(FRAME_MATERIALS["plastic"])
    ACETATE = "acetate", label(FRAME_MATERIALS["acetate"])
    METAL = "metal", label(FRAME_MATERIALS["metal"])
    TITANIUM = "titanium", label(FRAME_MATERIALS["titanium"])
    MIXED = "mixed", label(FRAME_MATERIALS["mixed"])
    OTHER = "other", label(FRAME_MATERIALS["other"])


class ShapeOrigin(models.TextChoices):
    NONE = "", "No shape: built from A, B and ED"
    RADII = "radii", "Radii typed or pasted"
    TRACE = "trace", "Trace file"


def _length(label: str) -> models.DecimalField[str | float | Decimal | None, Decimal | None]:
    return models.DecimalField(label, max_digits=5, decimal_places=2, null=True, blank=True)


class Frame(Versioned):
    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    model = models.CharField(max_length=100)
    colour = models.CharField(max_length=60, blank=True)
    stock_number = models.CharField(max_length=40, blank=True)
    in_stock = models.PositiveSmallIntegerField("pieces in stock", default=0)
    owner = models.ForeignKey(Patient, null=True, blank=True, on_delete=models.PROTECT, related_name="own_frames")
    condition = models.CharField(max_length=200, blank=True, help_text="Of a patient's own frame.")
    material = models.CharField(max_length=10, choices=FrameMaterial.choices, blank=True)
    mount = models.CharField(max_length=10, choices=Mount.choices, default=Mount.FULL_RIM)
    a_mm = _length("A (lens width)")
    b_mm = _length("B (lens height)")
    dbl_mm = _length("DBL (distance between lenses)")
    ed_mm = _length("ED (effective diameter)")
    front_curve_d = models.DecimalField("front curve (1.530)", max_digits=4, decimal_places=2, null=True, blank=True)
    side_length_mm = models.PositiveSmallIntegerField("side length", null=True, blank=True)
    # Right lens, as in lens-order/1: equally spaced, counter-clockwise from the viewer's right, in mm.
    radii_mm = models.JSONField(null=True, blank=True)
    shape_origin = models.CharField(max_length=10, choices=ShapeOrigin.choices, blank=True, default="")
    withdrawn = models.BooleanField("no longer offered", default=False)
    added_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["model", "pk"]
        indexes = [
            models.Index(fields=["model", "id"], name="frame_by_model"),
            models.Index(
                fields=["model", "id"],
                condition=models.Q(owner=None, withdrawn=False),
                name="frame_in_stock_by_model",
            ),
        ]
        constraints = [
            models.CheckConstraint(condition=models.Q(mount__in=Mount.values), name="frame_mount_known"),
        ]

    def __str__(self) -> str:
        return f"{self.model} {self.size}".strip()

    @property
    def size(self) -> str:
        """Lens width and distance between lenses in boxing notation, ``52□18``."""
        if self.a_mm is None or self.dbl_mm is None:
            return ""
        return f"{self.a_mm.normalize():f}□{self.dbl_mm.normalize():f}"

    @property
    def boxed_sizes(self) -> dict[str, str | None]:
        """The sizes that a fitting keeps a copy of, so that a later change to the frame is noticed."""
        sizes = {"a_mm": self.a_mm, "b_mm": self.b_mm, "dbl_mm": self.dbl_mm}
        return {name: None if size is None else f"{size:.2f}" for name, size in sizes.items()}
