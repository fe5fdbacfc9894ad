"""The rows of the sheet for recording a fitting: what is measured, for which eye or the pair, and by which methods.

Data only. The names of the fields are ``<quantity>-<eye>`` and ``<quantity>-method``.
"""

from __future__ import annotations

from dataclasses import dataclass

from dispensing.models.fittings import FOR_THE_PAIR, Method, Quantity

RULE, PUPILLOMETER, PHOTO, GAUGE, COPIED = (
    Method.RULE,
    Method.PUPILLOMETER,
    Method.PHOTO,
    Method.GAUGE,
    Method.COPIED,
)


@dataclass(frozen=True)
class FittingRow:
    """``hint`` says how the figure is taken; the first method is the usual one."""

    quantity: Quantity
    label: str
    unit: str
    methods: tuple[Method, ...]
    hint: str = ""

    @property
    def eyes(self) -> tuple[str, ...]:
        return ("both",) if self.for_the_pair else ("right", "left")

    @property
    def for_the_pair(self) -> bool:
        return self.quantity in FOR_THE_PAIR

    @property
    def method_field(self) -> str:
        return f"{self.quantity}-method"

    def field(self, eye: str) -> str:
        return f"{self.quantity}-{eye}"


ROWS = (
    FittingRow(
        Quantity.PD,
        "Monocular PD",
        "mm",
        (RULE, PUPILLOMETER, PHOTO, COPIED),
        "From the bridge, looking into the distance.",
    ),
    FittingRow(
        Quantity.BINOCULAR_PD,
        "Binocular PD",
        "mm",
        (RULE, PUPILLOMETER, PHOTO, COPIED),
        "Measured by itself, as a check.",
    ),
    FittingRow(
        Quantity.NEAR_PD,
        "Near PD",
        "mm",
        (RULE, PUPILLOMETER, PHOTO, COPIED, Method.CALCULATED),
        "At the working distance below.",
    ),
    FittingRow(
        Quantity.HEIGHT,
        "Fitting height",
        "mm",
        (RULE, GAUGE, PHOTO, COPIED),
        "From the lowest point of the lens up to the cross, segment top or centre.",
    ),
    FittingRow(Quantity.VERTEX, "Vertex distance", "mm", (RULE, GAUGE, PHOTO, COPIED), "As worn, to the lens's back."),
    FittingRow(Quantity.PANTOSCOPIC, "Pantoscopic tilt", "°", (GAUGE, RULE, PHOTO, COPIED), "As worn, the head level."),
    FittingRow(Quantity.FACE_FORM, "Face-form angle", "°", (GAUGE, RULE, PHOTO, COPIED), "Of one lens, as worn."),
)
