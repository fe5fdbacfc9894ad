"""What the migrations that move or change rows make of them, all the way back and to the newest state again.

One walk for all of them, because each step between takes far longer than what is looked at after it.
"""

from __future__ import annotations

import uuid
from datetime import date
from decimal import Decimal
from typing import Any

from cryptography.fernet import Fernet
from django.db import connection
from django_otp.plugins.otp_static.models import StaticDevice, StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice
from pytest_django import Settings

from dispensing.append_only import APPEND_ONLY_TABLES
from dispensing.models import StaffUser
from dispensing.services.second_factors import is_right_code

BEFORE = [("dispensing", "0006_audit_of_record"), ("orders", "0005_no_way_around_append_only")]
FIGURES = ("sphere", "cylinder", "axis", "add", "intermediate_add")
EVENTS = "orders_orderevent"


WHOLE = (Decimal("-3.375"), Decimal("-0.625"), 10, Decimal("2.125"), Decimal("1.875"))
CUT = (Decimal("-3.37"), Decimal("-0.62"), 10, Decimal("2.12"), Decimal("1.87"))
QUARTERS = (Decimal("3.25"), Decimal("-0.5"), 170, Decimal("2"), None)


def put_powers(now: Any) -> None:
    """One eye with eighths, which were stored cut to two decimals once, and one without."""
    patient = now.get_model("dispensing", "Patient").objects.create(
        reference="P-1", family_name="Sand", given_names="Ida", born_on=date(1960, 1, 1)
    )
    prescription = now.get_model("dispensing", "Prescription").objects.create(
        patient=patient, tested_on=date(2026, 11, 1), prescriber="B. Prescriber", use="distance"
    )
    for eye, row in (("left", WHOLE), ("right", QUARTERS)):
        values = dict(zip(FIGURES, row))
        now.get_model("dispensing", "PrescribedEye").objects.create(prescription=prescription, eye=eye, **values)


def powers(apps: Any) -> list[tuple[Any, ...]]:
    rows = apps.get_model("dispensing", "PrescribedEye").objects.order_by("eye")
    return [tuple(row) for row in rows.values_list(*FIGURES)]


def put_answers(now: Any) -> None:
    """One patient each who said yes, who said no, and who was not asked."""
    patients = now.get_model("dispensing", "Patient").objects
    for number, answer in enumerate((True, False, None)):
        row = {"family_name": "Reed", "given_names": "Tove", "born_on": date(1970, 1, 1), "may_be_contacted": answer}
        patients.create(reference=f"P-A{number}", **row)


def answers(apps: Any) -> list[bool | None]:
    rows = apps.get_model("dispensing", "Patient").objects.filter(reference__startswith="P-A").order_by("reference")
    return list(rows.values_list("may_be_contacted", flat=True))


def put_rules(now: Any) -> None:
    ines = now.get_model("dispensing", "StaffUser").objects.create(username="ines-before", role="manager")
    decided = {"decided_on": date(2026, 11, 2), "decided_by_id": ines.pk}
    rows = (
        {"rule": "decentration", "kind": "tighten", "limit": "in_max_mm", "value": 2.5, "reason": "Thick edges"},
        {"rule": "near-pd", "kind": "silence", "limit": "", "value": None, "reason": "Our lab works them out"},
    )
    for row in rows:
        now.get_model("dispensing", "PracticeRule").objects.create(public_id=uuid.uuid4(), **row, **decided)


def rules(apps: Any, app: str) -> set[tuple[Any, ...]]:
    fields = ("public_id", "rule", "kind", "limit", "value", "reason", "decided_on", "decided_by__username")
    return set(apps.get_model(app, "PracticeRule").objects.values_list(*fields))


KEY, CODES = "8d6e05ad0be1bc0e4b04e1e8a0f5b1a29c3d77f0", ("abcd2345", "efgh6777")


def put_app(now: Any) -> None:
    told = {"user_id": now.get_model("dispensing", "StaffUser").objects.get().pk, "name": "app", "confirmed": True}
    now.get_model("dispensing", "AuthenticatorApp").objects.create(secret=KEY, key="", **told)


def put_codes() -> None:
    device = StaticDevice.objects.create(user_id=TOTPDevice.objects.get().user_id, name="recovery", confirmed=True)
    StaticToken.objects.bulk_create(StaticToken(device=device, token=code) for code in CODES)


def factors_of(user: StaffUser) -> tuple[list[bool], str]:
    """Whether a code is taken, and once more; and all that the tables hold, before that."""
    with connection.cursor() as cursor:
        held = ""
        for table in ("otp_totp_totpdevice", "dispensing_authenticatorapp", "dispensing_recoverycode"):
            cursor.execute(f"SELECT * FROM {table}")
            held += str(cursor.fetchall())
    return [is_right_code(actor=user, code=code) for code in (CODES[0], CODES[0])], held


def triggers_on(table: str) -> int:
    listed = {
        "sqlite": "SELECT count(*) FROM sqlite_master WHERE type = 'trigger' AND tbl_name = %s",
        "postgresql": "SELECT count(*) FROM pg_trigger WHERE tgrelid = %s::regclass AND NOT tgisinternal",
    }[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(listed, [table])
        return int(cursor.fetchone()[0])


def test_rows_and_triggers_come_through_the_migrations_and_back(migrated: Any, settings: Settings) -> None:
    settings.ENCRYPTION_KEYS = [Fernet.generate_key().decode()]
    now = migrated()
    held = {table: triggers_on(table) for table in APPEND_ONLY_TABLES}
    assert min(held.values()) >= 2
    put_powers(now)
    put_rules(now)
    put_answers(now)
    put_app(now)
    stood = rules(now, "dispensing")
    assert len(stood) == 2

    old = migrated(BEFORE)
    assert powers(old) == [CUT, QUARTERS]
    assert rules(old, "orders") == stood
    assert answers(old) == [True, False, False]  # Nobody is taken to have agreed.
    assert TOTPDevice.objects.get().key == KEY
    put_codes()
    assert triggers_on(EVENTS) == held[EVENTS]  # Taking a column out makes the table anew on SQLite.

    anew = migrated()
    assert powers(anew) == [WHOLE, QUARTERS]  # Only what was cut becomes a whole eighth again.
    assert rules(anew, "dispensing") == stood
    taken, shown = factors_of(StaffUser.objects.get())
    assert taken == [True, False]
    assert not any(hidden in shown for hidden in (KEY, *CODES))
    assert not StaticToken.objects.exists()
    assert "orders_practicerule" not in connection.introspection.table_names()
    assert {table: triggers_on(table) for table in APPEND_ONLY_TABLES} == held
