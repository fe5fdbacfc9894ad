"""Pinned lenses beside each other: drawn at one scale, weighed on one bar, and told apart in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from django.utils.safestring import SafeString, mark_safe

from orders.drawings import edge_drawing, thickness_drawing
from orders.options.lenses.differences import differences
from orders.options.lenses.meaning import meaning, promise_words, protection_words
from orders.presentation.lenses.rows import LensShown

SCREEN_LETTERING, EDGE_LETTERING = 1.5, 2.0
BAR = 100.0


@dataclass(frozen=True, eq=False)
class Beside:
    """One pinned lens. first: what it is told apart from; None for the first itself. heaviest_g: of all pinned."""

    lens: LensShown
    first: LensShown | None
    heaviest_g: float | None
    is_present: bool

    @cached_property
    def section(self) -> SafeString:
        row, headings = self.lens.row, self.lens.headings
        drawn = thickness_drawing(
            row.order,
            row.offer.catalogue,
            headings=(headings.right, headings.left),
            lettering=SCREEN_LETTERING,
            one_width=True,
        )
        return mark_safe(drawn)  # noqa: S308 - built by our picture writer, which escapes every text

    @cached_property
    def edge(self) -> SafeString:
        row, headings = self.lens.row, self.lens.headings
        drawn = edge_drawing(
            row.order, row.offer.catalogue, headings=(headings.right, headings.left), lettering=EDGE_LETTERING
        )
        return mark_safe(drawn)  # noqa: S308 - built by our picture writer, which escapes every text

    @property
    def bar(self) -> str:
        """How much of the bar the weight fills, of BAR."""
        weight = self.lens.weight_g
        return f"{weight / self.heaviest_g * BAR:.1f}" if weight is not None and self.heaviest_g else "0"

    @cached_property
    def differences(self) -> tuple[str, ...]:
        """How it differs from the first of those pinned."""
        return differences(self.lens.row, self.first.row) if self.first is not None else ()

    @cached_property
    def meaning(self) -> list[str]:
        """What it means for the wearer, besides thickness and weight."""
        row, said = self.lens.row, meaning(self.lens.row)
        told = (protection_words(row), said.fringe, said.reflection, said.light, promise_words(row.case))
        return [text for text in told if text]


def beside(lenses: Sequence[LensShown], present: LensShown | None) -> list[Beside]:
    """The pinned lenses, the present one first, as what the others are told apart from."""
    now = present.key if present is not None else ""
    ordered = sorted(lenses, key=lambda lens: lens.key != now)
    heaviest = max((lens.weight_g for lens in ordered if lens.weight_g is not None), default=None)
    return [
        Beside(lens, ordered[0] if place else None, heaviest, lens.key == now) for place, lens in enumerate(ordered)
    ]
