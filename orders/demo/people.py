"""The demo's practice, staff and labs."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.auth.hashers import make_password

from dispensing.models import Practice, StaffUser
from orders.models import Lab
from orders.services.catalogues import import_catalogue
from orders.services.labs import add_lab
from orders.services.prices import take_in_prices, use_prices
from orders.services.usual import set_usual

FOLDER = Path(settings.BASE_DIR) / "fixtures" / "demo"


def read(name: str) -> Any:
    return json.loads((FOLDER / name).read_text(encoding="utf-8"))


def load_practice(facts: dict[str, Any]) -> None:
    Practice.current()
    Practice.objects.filter(pk=1).update(**facts["practice"])


def load_staff(facts: dict[str, Any]) -> dict[str, StaffUser]:
    """The staff by role. All share one demo password, which is printed for the person who starts the demo."""
    # Hashing is slow on purpose, so hash the one password once.
    password = make_password(facts["password"])
    return {person["role"]: StaffUser.objects.create(password=password, **person) for person in facts["staff"]}


def load_labs(facts: dict[str, Any], manager: StaffUser) -> list[Lab]:
    labs = []
    for row in facts["labs"]:
        fields = {name: value for name, value in row.items() if name not in ("catalogue", "usually")}
        lab = add_lab(actor=manager, **fields)
        import_catalogue(lab=lab, content=(FOLDER / row["catalogue"]).read_bytes(), actor=manager)
        labs.append(set_usual(lab=lab, actor=manager, **row.get("usually", {})))
    use_prices(prices=take_in_prices(content=(FOLDER / facts["prices"]).read_bytes(), actor=manager), actor=manager)
    return labs
