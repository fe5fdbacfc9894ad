"""What the database holds of second factors shows neither an app's key nor a recovery code."""

from __future__ import annotations

import io
import time
from base64 import b32encode

import pytest
from cryptography.fernet import Fernet
from django.apps import apps
from django.core.management import call_command
from django.db import connection
from django_otp.oath import TOTP
from pytest_django import Settings

from dispensing.at_rest import is_by_first_key
from dispensing.models import AuthenticatorApp, RecoveryCode
from dispensing.services.second_factors import is_right_code, new_recovery_codes, take_off_second_factor
from tests.evidence.shelf import doctors_words, says
from tests.people import person

pytestmark = pytest.mark.django_db
OLD, NEW = (Fernet.generate_key().decode() for _ in range(2))
SECRET = "8d6e05ad0be1bc0e4b04e1e8a0f5b1a29c3d77f0"


def dump() -> str:
    """All columns of all tables in which something of a second factor lies."""
    tables = [m._meta.db_table for m in apps.get_models() if m._meta.app_label in ("otp_totp", "otp_static")]
    said = []
    with connection.cursor() as cursor:
        for table in {*tables, AuthenticatorApp._meta.db_table, RecoveryCode._meta.db_table}:
            cursor.execute(f'SELECT * FROM "{table}"')
            said += [str(row) for row in cursor.fetchall()]
    return "\n".join(said)


def stored(app: AuthenticatorApp) -> str:
    with connection.cursor() as cursor:
        cursor.execute("SELECT secret FROM dispensing_authenticatorapp WHERE totpdevice_ptr_id = %s", [app.pk])
        return str(cursor.fetchone()[0])


def an_app(username: str, secret: str = SECRET) -> AuthenticatorApp:
    return AuthenticatorApp.objects.create(user=person(username), name="app", confirmed=True, secret=secret)


def code_now(secret: str = SECRET) -> str:
    totp = TOTP(bytes.fromhex(secret))
    totp.time = time.time()
    return f"{totp.token():06d}"


def test_a_dump_of_the_tables_shows_neither_an_apps_key_nor_a_recovery_code(settings: Settings) -> None:
    settings.ENCRYPTION_KEYS = [NEW]
    app = an_app("dora")
    codes = [code.replace("-", "") for code in new_recovery_codes(actor=person("dora"))]
    shown = dump().lower()
    for hidden in (SECRET, b32encode(bytes.fromhex(SECRET)).decode().lower(), *codes):
        assert hidden not in shown
    assert is_by_first_key(stored(app))
    assert AuthenticatorApp.objects.get(pk=app.pk).bin_key == bytes.fromhex(SECRET)


def test_a_key_is_changed_for_apps_as_for_all_else_and_the_app_goes_on(settings: Settings) -> None:
    settings.ENCRYPTION_KEYS = []
    plain = an_app("ravi", SECRET[::-1])
    settings.ENCRYPTION_KEYS = [OLD]
    app = an_app("dora")
    settings.ENCRYPTION_KEYS = [NEW, OLD]
    assert stored(plain) == SECRET[::-1]
    for said in ("2 encrypted by the first key.\n", "0 encrypted by the first key.\n"):
        out = io.StringIO()
        call_command("encrypt_at_rest", stdout=out)
        assert out.getvalue() == said
    settings.ENCRYPTION_KEYS = [NEW]
    assert is_right_code(actor=person("dora"), code=code_now())
    assert is_right_code(actor=person("ravi"), code=code_now(SECRET[::-1]))
    assert is_by_first_key(stored(app))
    assert doctors_words(only=("authenticator-apps",)) == []


def test_an_app_that_no_key_opens_lets_nobody_in_is_named_and_a_recovery_code_still_does(settings: Settings) -> None:
    settings.ENCRYPTION_KEYS = [OLD]
    an_app("dora")
    settings.ENCRYPTION_KEYS = [NEW]
    an_app("ravi")
    code, *_ = new_recovery_codes(actor=person("dora"))
    (line,) = doctors_words(only=("authenticator-apps",))
    assert says([line], "the authenticator app of dora")
    assert not is_right_code(actor=person("dora"), code=code_now())
    assert is_right_code(actor=person("ravi"), code=code_now())
    assert is_right_code(actor=person("dora"), code=code)
    assert take_off_second_factor(actor=None, member=person("dora")) == "an authenticator app"
    assert list(AuthenticatorApp.objects.values_list("user__username", flat=True)) == ["ravi"]
