"""The bounds of a catalogue's figures: dated, sourced, one inside the other, and written in the units of the trade."""

from __future__ import annotations

from datetime import date
from math import inf

import pytest

from dispensing.documents import DocumentPart
from dispensing.trade.catalogue_figures import CatalogueFigure, catalogue_figures, figure_of, origin
from dispensing.trade.facts import GRADES
from orders.documents import lens_catalogue

PARTS: dict[str, type[DocumentPart]] = {
    "materials": lens_catalogue.Material,
    "designs": lens_catalogue.Design,
    "designs.corridors": lens_catalogue.Corridor,
    "designs.segment": lens_catalogue.Segment,
    "designs.blanks": lens_catalogue.Blank,
    "designs.base_curves": lens_catalogue.BaseCurveRow,
    "treatments": lens_catalogue.Treatment,
    "prices": lens_catalogue.PriceRow,
}
NO_FIGURES = {
    "id", "name", "kind", "extra", "drillable", "impact_resistant", "materials", "corridors", "segment", "blanks",
    "base_curves", "needs", "compensated", "shape", "excludes", "design", "material", "treatment", "currency",
}  # fmt: skip


@pytest.mark.parametrize("figure", catalogue_figures(), ids=lambda one: f"{one.of} {one.key}")
def test_what_is_usual_lies_within_what_is_possible(figure: CatalogueFigure) -> None:
    low, high = figure.usual
    assert figure.possible[0] <= low < high <= figure.possible[1]
    assert figure.is_usual(low)
    assert figure.is_possible(figure.possible[0])
    assert figure.words == figure.words.strip()


def test_every_figure_that_a_catalogue_can_state_has_bounds() -> None:
    stated = {(of, key) for of, part in PARTS.items() for key in part.model_fields if key not in NO_FIGURES}
    assert {(figure.of, figure.key) for figure in catalogue_figures()} == stated


def test_the_bounds_say_where_they_are_from() -> None:
    assert origin().grade in GRADES
    assert origin().since >= date(2026, 11, 1)
    assert len(origin().source) > 8


def test_bounds_and_values_are_written_with_their_unit() -> None:
    centre, sphere, price = (
        figure_of("materials", "min_centre_mm"),
        figure_of("designs", "sphere"),
        figure_of("prices", "amount"),
    )
    assert (centre.written(180.0), centre.within(centre.possible)) == ("180 mm", "0.3 to 12 mm")
    assert sphere.within((-6.0, 4.0)) == "−6 to 4 D"
    assert (price.usual[1], price.within(price.usual)) == (inf, "0.01 or more")
