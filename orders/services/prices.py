"""Takes in the practice's own price list, and takes one into use; a stored list never changes.

A list is first looked at (a dry run): each faulty row is named, and nothing is kept of a file with one. Then it is
used, or an earlier one is put back.
"""

from __future__ import annotations

from collections.abc import Sequence

from django.db import transaction
from django.utils import timezone

from dispensing.models import StaffUser
from dispensing.services.audit import record
from orders.documents.canonical import sha256_hex
from orders.documents.price_list import FaultyRow, read_prices
from orders.models import PriceList

LARGEST_BYTES = 2_000_000


class FaultyPrices(ValueError):
    """Nothing was kept. ``faults``: every faulty row."""

    def __init__(self, faults: Sequence[FaultyRow]):
        self.faults = tuple(faults)
        super().__init__(" ".join(map(str, faults)))


def take_in_prices(*, content: bytes, actor: StaffUser | None) -> PriceList:
    """Keep a price list to be looked at; it is not used yet. The same text again is the same row.

    Raises :class:`FaultyPrices`, and then keeps nothing.
    """
    if len(content) > LARGEST_BYTES:
        size = f"The file has {len(content) / 1e6:.1f} MB; {LARGEST_BYTES / 1e6:.0f} MB are allowed."
        raise FaultyPrices([FaultyRow(0, size)])
    faults = read_prices(content).faults
    if faults:
        raise FaultyPrices(faults)
    sha256 = sha256_hex(content)
    with transaction.atomic():
        prices, is_new = PriceList.objects.get_or_create(
            sha256=sha256, defaults={"text": content.decode(), "loaded_by": actor}
        )
        if is_new:
            record(actor=actor, verb="prices.import", target=prices, changes={"sha256": [None, sha256]})
    return prices


@transaction.atomic
def use_prices(*, prices: PriceList, actor: StaffUser | None) -> PriceList:
    """Take a price list into use, or put an earlier one back."""
    before = PriceList.objects.select_for_update().filter(in_use=True).first()
    prices = PriceList.objects.select_for_update().get(pk=prices.pk)
    if prices.in_use:
        return prices
    PriceList.objects.filter(in_use=True).update(in_use=False)
    prices.in_use, prices.used_at = True, timezone.now()
    prices.save(update_fields=["in_use", "used_at"])
    changes = {"sha256": [before and before.sha256, prices.sha256]}
    record(actor=actor, verb="prices.use", target=prices, changes=changes)
    return prices


@transaction.atomic
def stop_using_prices(*, actor: StaffUser | None) -> None:
    """Go by the catalogues' prices again; the list is kept and can be put back."""
    before = PriceList.objects.select_for_update().filter(in_use=True).first()
    if before is not None:
        before.in_use = False
        before.save(update_fields=["in_use"])
        record(actor=actor, verb="prices.stop", target=before, changes={"sha256": [before.sha256, None]})
