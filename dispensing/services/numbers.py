"""Serial numbers that people read out: patient references and order numbers."""

import re

from django.db import models
from django.db.models.functions import Length

from dispensing.models.numbers import SerialNumber


def next_number(model: type[models.Model], field: str, prefix: str) -> str:
    """The next of ``prefix-00001, prefix-00002 …`` not yet used in ``field``.

    Call inside a transaction. The row of the series is locked until its end, so that two callers queue and a number
    that is not used after all is given to the next: there are no gaps. The unique constraint on the field is the final
    safeguard.
    """
    series = _locked(model, field, prefix)
    series.last += 1
    while model._default_manager.filter(**{field: _written(prefix, series.last)}).exists():
        series.last += 1  # Somebody gave this number by hand.
    series.save(update_fields=["last"])
    return _written(prefix, series.last)


def _locked(model: type[models.Model], field: str, prefix: str) -> SerialNumber:
    name = f"{model._meta.label_lower}.{field} {prefix}"
    if not SerialNumber.objects.filter(series=name).exists():
        SerialNumber.objects.get_or_create(series=name, defaults={"last": _last_used(model, field, prefix)})
    return SerialNumber.objects.select_for_update().get(series=name)


def _last_used(model: type[models.Model], field: str, prefix: str) -> int:
    # Anything else behind the prefix was given by hand, or by another program.
    numbered = {f"{field}__startswith": f"{prefix}-", f"{field}__regex": rf"^{re.escape(prefix)}-[0-9]{{1,9}}$"}
    taken = model._default_manager.filter(**numbered).values_list(field, flat=True)
    # Longest first: D-100000 comes after D-99999.
    last = taken.annotate(length=Length(field)).order_by("-length", f"-{field}").first()
    return int(last.rsplit("-", 1)[1]) if last else 0


def _written(prefix: str, number: int) -> str:
    return f"{prefix}-{number:05d}"
