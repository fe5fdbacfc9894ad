"""Outgoing mail: does it go anywhere, and does the server answer. Sends nothing."""

from __future__ import annotations

from collections.abc import Iterator
from smtplib import SMTPException

from django.conf import settings
from django.core.mail import get_connection

from dispensing.doctor.registry import Diagnosis, doctor_check, note, ok, wrong

SECONDS_TO_CONNECT = 5
SET_A_SERVER = "Set EMAIL_HOST, and what goes with it, to send for real."


@doctor_check("mail")
def mail_goes_out() -> Iterator[Diagnosis]:
    if settings.EMAIL_BACKEND.endswith(".smtp.EmailBackend"):
        yield _server_answers()
        if settings.PRODUCTION and not (settings.EMAIL_USE_TLS or settings.EMAIL_USE_SSL or _is_here()):
            yield wrong(
                f"orders travel to the mail server {settings.EMAIL_HOST} in the open",
                "Set EMAIL_USE_TLS to yes (port 587), or EMAIL_USE_SSL (port 465).",
            )
    else:
        say = wrong if settings.PRODUCTION else note
        yield say("e-mails are kept on this machine and reach no lab", SET_A_SERVER)
    if settings.PRODUCTION and settings.DEFAULT_FROM_EMAIL.endswith(".invalid"):
        yield wrong(
            f"e-mails come from {settings.DEFAULT_FROM_EMAIL}, which does not exist",
            "Set DEFAULT_FROM_EMAIL to the practice's address.",
        )


def _is_here() -> bool:
    return settings.EMAIL_HOST in {"localhost", "127.0.0.1", "::1"}


def _server_answers() -> Diagnosis:
    where = f"{settings.EMAIL_HOST}, port {settings.EMAIL_PORT}"
    connection = get_connection(timeout=SECONDS_TO_CONNECT)
    try:
        connection.open()
        connection.close()
    except (OSError, SMTPException) as fault:
        return wrong(
            f"the mail server {where} does not let us in ({fault})",
            "Correct EMAIL_HOST, EMAIL_PORT, EMAIL_USE_TLS or EMAIL_USE_SSL, EMAIL_HOST_USER or EMAIL_HOST_PASSWORD.",
        )
    return ok(f"the mail server {where} lets us in")
