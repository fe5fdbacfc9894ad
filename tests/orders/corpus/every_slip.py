"""All slips: importing their modules registers them."""

from __future__ import annotations

from tests.orders.corpus import slips, slips_of_use
from tests.orders.corpus.one_slip import SLIPS, slips_in

__all__ = ["SLIPS", "slips", "slips_in", "slips_of_use"]
