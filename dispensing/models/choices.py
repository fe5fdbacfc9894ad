"""Words that several models and forms share. The values are those of ``lens-order/1``."""

from django.db import models


class Eye(models.TextChoices):
    RIGHT = "right", "Right"
    LEFT = "left", "Left"


class Mount(models.TextChoices):
    FULL_RIM = "full_rim", "Full rim"
    GROOVED = "grooved", "Grooved (supra)"
    DRILLED = "drilled", "Drilled (rimless)"


class Use(models.TextChoices):
    DISTANCE = "distance", "Distance"
    INTERMEDIATE = "intermediate", "Intermediate"
    NEAR = "near", "Near"
    DISTANCE_AND_NEAR = "distance_and_near", "Distance and near"


class HorizontalBase(models.TextChoices):
    IN = "in", "In"
    OUT = "out", "Out"


class VerticalBase(models.TextChoices):
    UP = "up", "Up"
    DOWN = "down", "Down"
