"""A practice's own rules move from the orders to the record with everything in them, and back."""

from __future__ import annotations

import uuid
from datetime import date
from typing import Any

from django.db import connection

BEFORE = [("dispensing", "0006_audit_of_record"), ("orders", "0005_no_way_around_append_only")]


def held(apps: Any, app: Any) -> Any:
    fields = ("public_id", "rule", "kind", "limit", "value", "reason", "decided_on", "decided_by__username")
    return set(apps.get_model(app, "PracticeRule").objects.values_list(*fields))


def test_every_decision_is_carried_over_and_back(migrated: Any) -> None:
    old = migrated(BEFORE)
    ines = old.get_model("dispensing", "StaffUser").objects.create(username="ines-before", role="manager")
    decided = {"decided_on": date(2026, 11, 2), "decided_by_id": ines.pk}
    rows = (
        {"rule": "decentration", "kind": "tighten", "limit": "in_max_mm", "value": 2.5, "reason": "Thick edges"},
        {"rule": "near-pd", "kind": "silence", "limit": "", "value": None, "reason": "Our lab works them out"},
    )
    for row in rows:
        old.get_model("orders", "PracticeRule").objects.create(public_id=uuid.uuid4(), **row, **decided)
    stood = held(old, "orders")
    assert len(stood) == 2

    assert held(migrated(), "dispensing") == stood
    assert "orders_practicerule" not in connection.introspection.table_names()

    assert held(migrated(BEFORE), "orders") == stood
