"""Serial numbers that people read out: patient references and order numbers."""

from django.db import models
from django.db.models.functions import Length

from dispensing.models.practice import Practice


def next_number(model: type[models.Model], field: str, prefix: str) -> str:
    """The next of ``prefix-00001, prefix-00002 …`` not yet used in ``field``.

    Call inside a transaction. The practice row is locked so that two callers queue; the unique constraint on the field
    is the final safeguard.
    """
    Practice.objects.select_for_update().filter(pk=1).first()
    taken = model._default_manager.filter(**{f"{field}__startswith": f"{prefix}-"}).values_list(field, flat=True)
    # Longest first: D-100000 comes after D-99999.
    last = taken.annotate(length=Length(field)).order_by("-length", f"-{field}").first()
    return f"{prefix}-{(int(last.rsplit('-', 1)[1]) if last else 0) + 1:05d}"
