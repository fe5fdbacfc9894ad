"""Imports a lab's catalogue: it is read strictly, kept as its exact text, and from then on is the one in use."""

from __future__ import annotations

from django.db import transaction

from dispensing.documents import Fault, InvalidDocument
from dispensing.models import StaffUser
from dispensing.services.audit import record
from orders.documents.canonical import sha256_hex
from orders.documents.catalogue_faults import faults_in
from orders.documents.lens_catalogue import LensCatalogue, parse_catalogue
from orders.models import Catalogue, Lab, Order
from orders.states import OrderState

LARGEST_BYTES = 4_000_000


def import_catalogue(*, lab: Lab, content: bytes, actor: StaffUser | None) -> Catalogue:
    """Import a ``lens-catalogue/1``; the lab's drafts are drawn up from it from now on.

    Raises :class:`InvalidDocument` with every fault and its JSON path, and then changes nothing. If the same text is
    imported again, it comes back into use without a second row.
    """
    document = _read(lab, content)
    sha256 = sha256_hex(content)
    with transaction.atomic():
        lab = Lab.objects.select_for_update().get(pk=lab.pk)
        lab.catalogues.filter(in_use=True).exclude(sha256=sha256).update(in_use=False)
        catalogue, _ = Catalogue.objects.update_or_create(
            lab=lab,
            sha256=sha256,
            defaults={"in_use": True},
            create_defaults={
                "in_use": True,
                "text": content.decode(),
                "issued_on": document.issued_on,
                "imported_by": actor,
            },
        )
        Order.objects.filter(lab=lab, state=OrderState.DRAFT).update(catalogue=catalogue)
        changes = {"sha256": [None, sha256], "issued_on": [None, str(document.issued_on or "")]}
        record(actor=actor, verb="catalogue.import", target=lab, changes=changes)
    return catalogue


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
