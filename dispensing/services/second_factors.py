"""Second factors: an authenticator app, passkeys, and recovery codes for the day when neither is at hand.

Whoever has one is asked for it at every sign-in. A colleague who manages staff, or the command
``take_off_second_factor``, takes a lost one off again.
"""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django_otp.plugins.otp_static.models import StaticToken
from django_otp_webauthn.models import WebAuthnCredential

from dispensing.at_rest import NoKeyFits
from dispensing.models import AuthenticatorApp, RecoveryCode, RecoverySet, StaffUser
from dispensing.models.second_factors import hashed_codes
from dispensing.queries.second_factors import factors_of
from dispensing.services.audit import record

RECOVERY_CODES = 10
DIGITS_OF_AN_APP = 6
APP = "an authenticator app"


def begin_app(user: StaffUser) -> AuthenticatorApp:
    """The app that is being set up; nobody is asked for it before one of its codes has been typed."""
    device, _ = AuthenticatorApp.objects.get_or_create(user=user, confirmed=False, defaults={"name": "app"})
    return device


@transaction.atomic
def confirm_app(*, actor: StaffUser, code: str) -> bool:
    """Take the app into use, in place of an earlier one, if ``code`` is one of its codes now."""
    device = AuthenticatorApp.objects.select_for_update().filter(user=actor, confirmed=False).first()
    if device is None or not device.verify_token(_tidy(code)):
        return False
    AuthenticatorApp.objects.filter(user=actor, confirmed=True).delete()
    AuthenticatorApp.objects.filter(pk=device.pk).update(confirmed=True)
    record(actor=actor, verb="second-factor.add", changes={"factor": [None, APP]})
    return True


def note_passkey(*, actor: StaffUser, passkey: WebAuthnCredential, name: str) -> None:
    """Name a passkey that has just been made."""
    with transaction.atomic():
        WebAuthnCredential.objects.filter(pk=passkey.pk).update(name=name)
        record(actor=actor, verb="second-factor.add", changes={"factor": [None, f"the passkey {name}"]})


def new_recovery_codes(*, actor: StaffUser) -> list[str]:
    """Ten codes, each of which works once; those from before work no more. Only their hashes are kept."""
    codes = [StaticToken.random_token() for _ in range(RECOVERY_CODES)]
    hashes = hashed_codes(codes)  # before the transaction: it takes seconds
    with transaction.atomic():
        RecoverySet.objects.filter(user=actor).delete()
        device = RecoverySet.objects.create(user=actor, name="recovery", confirmed=True)
        RecoveryCode.objects.bulk_create(RecoveryCode(device=device, hashed=hashed) for hashed in hashes)
        record(actor=actor, verb="second-factor.codes")
    return [f"{code[:4]}-{code[4:]}" for code in codes]


@transaction.atomic
def remove_factor(*, actor: StaffUser, passkey_id: int | None) -> bool:
    """Take off one's own passkey, or without one the app. With the last factor the recovery codes go as well."""
    own: Any = AuthenticatorApp.objects if passkey_id is None else WebAuthnCredential.objects.filter(pk=passkey_id)
    device = own.filter(user=actor, confirmed=True).first()
    if device is None:
        return False
    told = APP if passkey_id is None else f"the passkey {device.name}"
    device.delete()
    if not factors_of(actor):
        RecoverySet.objects.filter(user=actor).delete()
    record(actor=actor, verb="second-factor.remove", changes={"factor": [told, None]})
    return True


@transaction.atomic
def take_off_second_factor(*, actor: StaffUser | None, member: StaffUser) -> str:
    """Take every factor off somebody who has lost theirs; what it was in words, empty if there was none.

    ``actor``: None for the command.
    """
    told = str(factors_of(member))
    for model in (AuthenticatorApp, RecoverySet, WebAuthnCredential):
        model.objects.filter(user=member).delete()
    if told:
        changes = {"user": [None, member.username], "factor": [told, None]}
        record(actor=actor, verb="second-factor.take-off", target=member, changes=changes)
    return told


@transaction.atomic
def is_right_code(*, actor: StaffUser, code: str) -> bool:
    """Whether ``code`` is one of the app's now, or an unused recovery code, which it then no longer is."""
    tidy = _tidy(code)
    by_app = tidy.isdecimal() and len(tidy) == DIGITS_OF_AN_APP
    model = AuthenticatorApp if by_app else RecoverySet
    device: Any = model.objects.select_for_update().filter(user=actor, confirmed=True).first()
    right = device is not None and _takes(device, tidy)
    if right and not by_app:
        left = factors_of(actor).codes_left
        record(actor=actor, verb="second-factor.recovery", changes={"codes left": [str(left + 1), str(left)]})
    return right


def _takes(device: AuthenticatorApp | RecoverySet, code: str) -> bool:
    """An app whose key cannot be opened takes no code: a recovery code is the way in, and the doctor says why."""
    try:
        return bool(device.verify_token(code))
    except NoKeyFits:
        return False


def _tidy(code: str) -> str:
    """As it was meant: people type the spaces and hyphens that they see."""
    return "".join(code.split()).replace("-", "").lower()
