"""Takes in a lab's catalogue, and takes one into use: first read strictly and kept as its exact text, then looked at,
then used. A stored catalogue never changes; another one takes its place, or an earlier one is put back.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from django.db import transaction
from django.utils import timezone

from dispensing.documents import Fault, InvalidDocument
from dispensing.models import StaffUser
from dispensing.services.audit import record
from orders.catalogues.doubts import Doubt, doubts_in
from orders.catalogues.faults import faults_in
from orders.documents.canonical import sha256_hex
from orders.documents.lens_catalogue import LensCatalogue, parse_catalogue
from orders.facts import catalogue_document
from orders.models import Catalogue, Lab, Order
from orders.states import OrderState

LARGEST_BYTES = 4_000_000


class NotConfirmed(Exception):
    """Nothing was done: unusual figures of the catalogue are not confirmed yet. ``doubts``: those left."""

    def __init__(self, doubts: Sequence[Doubt]):
        self.doubts = tuple(doubts)
        super().__init__("Not confirmed yet: " + " ".join(doubt.says for doubt in doubts))


class AnotherInUse(Exception):
    """Nothing was done: the catalogue was looked at beside one that is not the one in use any more."""

    def __init__(self) -> None:
        super().__init__("Another catalogue came into use in the meantime. Look at the differences again.")


def take_in(*, lab: Lab, content: bytes, actor: StaffUser | None) -> Catalogue:
    """Keep a ``lens-catalogue/1`` to be looked at; it is not used yet. The same text again is the same row.

    Raises :class:`InvalidDocument` with every fault and its JSON path, and then keeps nothing.
    """
    document, sha256 = _read(lab, content), sha256_hex(content)
    with transaction.atomic():
        lab = Lab.objects.select_for_update().get(pk=lab.pk)
        catalogue, is_new = Catalogue.objects.get_or_create(
            lab=lab,
            sha256=sha256,
            defaults={"text": content.decode(), "issued_on": document.issued_on, "imported_by": actor},
        )
        if is_new:
            changes = {"sha256": [None, sha256], "issued_on": [None, str(document.issued_on or "")]}
            record(actor=actor, verb="catalogue.import", target=lab, changes=changes)
    return catalogue


def use_catalogue(
    *,
    catalogue: Catalogue,
    actor: StaffUser | None,
    confirmed: Collection[str] = (),
    beside: Catalogue | None = None,
) -> Catalogue:
    """Take a catalogue into use, or put an earlier one back; the lab's drafts are judged by it from now on.

    confirmed: the JSON paths of the unusual figures that `actor` confirms; who did stays with the catalogue. beside:
    the catalogue in use that it was looked at beside; None: whichever is.

    Raises :class:`NotConfirmed` if an unusual figure is left, :class:`AnotherInUse`.
    """
    with transaction.atomic():
        lab = Lab.objects.select_for_update().get(pk=catalogue.lab_id)
        catalogue = lab.catalogues.get(pk=catalogue.pk)
        before = lab.catalogues.filter(in_use=True).first()
        if beside is not None and beside != before:
            raise AnotherInUse
        if catalogue.in_use:
            return catalogue
        entries = _confirmed(open_doubts(catalogue, before), confirmed, actor)
        lab.catalogues.filter(in_use=True).update(in_use=False)
        catalogue.confirmed = [*catalogue.confirmed, *entries]
        catalogue.in_use, catalogue.used_at = True, timezone.now()
        catalogue.save(update_fields=["in_use", "used_at", "confirmed"])
        Order.objects.filter(lab=lab, state=OrderState.DRAFT).update(catalogue=catalogue)
        record(actor=actor, verb="catalogue.use", target=lab, changes=_told(catalogue, before, entries))
    return catalogue


def import_catalogue(
    *, lab: Lab, content: bytes, actor: StaffUser | None, confirmed: Collection[str] = ()
) -> Catalogue:
    """Take a catalogue in and use it at once. Raises what :func:`take_in` and :func:`use_catalogue` raise."""
    with transaction.atomic():
        taken = take_in(lab=lab, content=content, actor=actor)
        return use_catalogue(catalogue=taken, actor=actor, confirmed=confirmed)


def open_doubts(catalogue: Catalogue, in_use: Catalogue | None) -> tuple[Doubt, ...]:
    """What is still to be confirmed before this catalogue can take the place of the one in use."""
    against = in_use.issued_on if in_use is not None and catalogue.used_at is None else None
    doubts = doubts_in(catalogue_document(catalogue), against)
    known = {(entry["path"], entry["says"]) for entry in catalogue.confirmed}
    return tuple(doubt for doubt in doubts if (doubt.path, doubt.says) not in known)


def _confirmed(doubts: Sequence[Doubt], paths: Collection[str], actor: StaffUser | None) -> list[dict[str, str]]:
    left = [doubt for doubt in doubts if doubt.path not in paths]
    if left:
        raise NotConfirmed(left)
    by, at = str(actor or ""), timezone.now().isoformat()
    return [{"path": doubt.path, "says": doubt.says, "by": by, "at": at} for doubt in doubts]


def _told(catalogue: Catalogue, before: Catalogue | None, entries: Sequence[dict[str, str]]) -> dict[str, object]:
    issued = [str(one.issued_on or "") if one else None for one in (before, catalogue)]
    changes: dict[str, object] = {"sha256": [before and before.sha256, catalogue.sha256], "issued_on": issued}
    if entries:
        changes["confirmed"] = [None, " ".join(entry["says"] for entry in entries)]
    return changes


def _read(lab: Lab, content: bytes) -> LensCatalogue:
    if len(content) > LARGEST_BYTES:
        size = f"is {len(content) / 1e6:.1f} MB long; {LARGEST_BYTES / 1e6:.0f} MB are allowed"
        raise InvalidDocument([Fault("$", size)])
    try:
        content.decode()
    except UnicodeDecodeError as error:
        raise InvalidDocument([Fault("$", f"is not UTF-8 text (byte {error.start})")]) from error
    document = parse_catalogue(content)
    faults = list(faults_in(document))
    if document.lab.casefold().strip() != lab.name.casefold().strip():
        faults.insert(0, Fault("$.lab", f'is "{document.lab}"; this catalogue is being imported for "{lab.name}"'))
    if faults:
        raise InvalidDocument(faults)
    return document
