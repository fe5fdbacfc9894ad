"""One eye's power as a row, prescribed or read: the figures, and what the database refuses of them."""

from __future__ import annotations

from django.db import models

from dispensing.models.choices import Eye, HorizontalBase, VerticalBase


class PowerLine(models.Model):
    """In the cylinder form in which it was written; eighths of a dioptre are stored in full."""

    eye = models.CharField(max_length=5, choices=Eye.choices)
    sphere = models.DecimalField(max_digits=6, decimal_places=3, null=True, blank=True)
    cylinder = models.DecimalField(max_digits=6, decimal_places=3, null=True, blank=True)
    axis = models.PositiveSmallIntegerField(null=True, blank=True)
    add = models.DecimalField(max_digits=5, decimal_places=3, null=True, blank=True)
    intermediate_add = models.DecimalField(max_digits=5, decimal_places=3, null=True, blank=True)
    prism_horizontal = models.DecimalField(max_digits=4, decimal_places=2, null=True, blank=True)
    prism_horizontal_base = models.CharField(max_length=4, choices=HorizontalBase.choices, blank=True)
    prism_vertical = models.DecimalField(max_digits=4, decimal_places=2, null=True, blank=True)
    prism_vertical_base = models.CharField(max_length=4, choices=VerticalBase.choices, blank=True)
    acuity = models.CharField(max_length=20, blank=True)

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return f"{self.get_eye_display()} eye"


def power_line_constraints(prefix: str = "") -> list[models.CheckConstraint]:
    """What belongs together is there together, and nothing is out of range. ``prefix``: before each constraint's name,
    which must be unique in the database.
    """
    return [
        models.CheckConstraint(
            condition=models.Q(axis__isnull=True) | models.Q(axis__gte=1, axis__lte=180),
            name=f"{prefix}axis_1_to_180",
        ),
        models.CheckConstraint(
            condition=models.Q(cylinder__isnull=True, axis__isnull=True)
            | models.Q(cylinder__isnull=False, axis__isnull=False),
            name=f"{prefix}cylinder_and_axis_together",
        ),
        models.CheckConstraint(
            condition=models.Q(prism_horizontal__isnull=True, prism_horizontal_base="")
            | models.Q(prism_horizontal__gt=0, prism_horizontal_base__in=HorizontalBase.values),
            name=f"{prefix}horizontal_prism_has_base",
        ),
        models.CheckConstraint(
            condition=models.Q(prism_vertical__isnull=True, prism_vertical_base="")
            | models.Q(prism_vertical__gt=0, prism_vertical_base__in=VerticalBase.values),
            name=f"{prefix}vertical_prism_has_base",
        ),
    ]
