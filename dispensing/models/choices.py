"""Words that several models and forms share. The values are those of ``lens-order/1``."""

from django.db import models

from dispensing.choice_words import MOUNTS, USES, label


class Eye(models.TextChoices):
    RIGHT = "right", "Right"
    LEFT = "left", "Left"


class Mount(models.TextChoices):
    FULL_RIM = "full_rim", label(MOUNTS["full_rim"])
    GROOVED = "grooved", label(MOUNTS["grooved"])
    DRILLED = "drilled", label(MOUNTS["drilled"])


class Use(models.TextChoices):
    DISTANCE = "distance", label(USES["distance"])
    INTERMEDIATE = "intermediate", label(USES["intermediate"])
    NEAR = "near", label(USES["near"])
    DISTANCE_AND_NEAR = "distance_and_near", label(USES["distance_and_near"])


class HorizontalBase(models.TextChoices):
    IN = "in", "In"
    OUT = "out", "Out"


class VerticalBase(models.TextChoices):
    UP = "up", "Up"
    DOWN = "down", "Down"
