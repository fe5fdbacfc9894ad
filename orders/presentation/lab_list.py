"""The list of labs as a file."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from orders.queries import DatedLab

LAB_HEADS = ("Lab", "Our account", "Phone", "E-mail", "How orders go there", "Usual working days",
             "Catalogue issued on", "In use")  # fmt: skip


def lab_rows(labs: Iterable[DatedLab]) -> Iterator[list[str]]:
    for lab in labs:
        issued = lab.catalogue_issued_on.isoformat() if lab.catalogue_issued_on else ""
        yield [lab.name, lab.account, lab.phone, lab.email, lab.get_way_display(), str(lab.working_days), issued,
               "yes" if lab.active else "no"]  # fmt: skip
