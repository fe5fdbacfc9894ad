"""The families of rules, one file each. Importing this package registers every rule."""

from orders.rules.families import (
    adds,
    availability,
    cut_out,
    frame,
    handling,
    heights,
    identity,
    measuring,
    position_of_wear,
    prescription_changes,
    prescription_entry,
    prisms,
    progressive_fit,
    pupil_distances,
)

__all__ = [
    "adds",
    "availability",
    "cut_out",
    "frame",
    "handling",
    "heights",
    "identity",
    "measuring",
    "position_of_wear",
    "prescription_changes",
    "prescription_entry",
    "prisms",
    "progressive_fit",
    "pupil_distances",
]
