"""E-mail to the lab by Django's mail settings, with the stored PDF and JSON attached and no patient details in view.

The Message-ID is derived from the delivery's id, so that one mail sent twice can be told from two mails. Once the
message has been handed over, a broken connection leaves the result unknown; before that, sending can be retried.
"""

from __future__ import annotations

import smtplib
from typing import Any

from django.conf import settings
from django.core.mail import EmailMessage, get_connection

from orders.models import Delivery, OrderDocument
from orders.models.deliveries import Message
from orders.sending.channels.notices import notice
from orders.sending.errors import DeliveryError, Failure

ID_DOMAIN = "orders.datumline.invalid"
REPLY_LETTERS = 200


def send(delivery: Delivery, connection: Any = None) -> str:
    """Send one mail, by the installation's mail settings unless a connection is given. Raises `DeliveryError`."""
    connection = connection or get_connection(fail_silently=False)
    _open(connection)
    try:
        accepted = connection.send_messages([message_for(delivery)])
    except smtplib.SMTPRecipientsRefused as error:
        code, text = next(iter(error.recipients.values()))
        raise _refused(code, text) from error
    except smtplib.SMTPResponseException as error:
        raise _refused(error.smtp_code, error.smtp_error) from error
    except (OSError, smtplib.SMTPServerDisconnected) as error:
        said = f"The mail server broke off while taking the message ({_excerpt(error)}); it may have arrived."
        raise DeliveryError(said, Failure.UNKNOWN) from error
    finally:
        _close(connection)
    if not accepted:
        raise DeliveryError("The message was not accepted for sending. Check the mail settings.", Failure.PERMANENT)
    return f"Handed to {settings.EMAIL_BACKEND.rsplit('.', 2)[-2]}"


def message_for(delivery: Delivery) -> EmailMessage:
    """The mail for a delivery: the same at every attempt."""
    if delivery.message != Message.ORDER:
        subject, body = notice(delivery)
        return EmailMessage(subject=subject, body=body, to=[delivery.address], headers=_headers(delivery))
    document = delivery.document
    message = EmailMessage(
        subject=f"Lens order {document.number}, revision {document.revision}",
        body=_body(document),
        to=[delivery.address],
        headers=_headers(delivery),
    )
    stem = f"{document.number}-{document.revision}"
    message.attach(f"{stem}.pdf", bytes(document.pdf), "application/pdf")
    message.attach(f"{stem}.json", document.text.encode(), "application/json")
    return message


def message_id(delivery: Delivery) -> str:
    return f"<{delivery.public_id}@{ID_DOMAIN}>"


def _headers(delivery: Delivery) -> dict[str, str]:
    return {"Message-ID": message_id(delivery), "Auto-Submitted": "auto-generated"}


def _body(document: OrderDocument) -> str:
    return (
        f"Lens order {document.number}, revision {document.revision}, is attached as PDF and as JSON (lens-order/1).\n"
        f"SHA-256 of the JSON: {document.sha256}\n"
    )


def _open(connection: Any) -> None:
    """Connect to the server and sign in; if this fails, nothing has been sent."""
    try:
        connection.open()
    except smtplib.SMTPAuthenticationError as error:
        said = "The mail server refused the user name or password of this installation."
        raise DeliveryError(said, Failure.PERMANENT) from error
    except (OSError, smtplib.SMTPException) as error:
        raise DeliveryError(f"The mail server cannot be reached ({_excerpt(error)}).", Failure.TEMPORARY) from error


def _close(connection: Any) -> None:
    # The server's reply to QUIT makes no difference to the message.
    try:
        connection.close()
    except (OSError, smtplib.SMTPException):
        return


def _refused(code: int, text: bytes | str) -> DeliveryError:
    said = text.decode(errors="replace") if isinstance(text, bytes) else text
    failure = Failure.PERMANENT if code >= 500 else Failure.TEMPORARY
    return DeliveryError(f"The mail server refused the message: {code} {said}"[:REPLY_LETTERS], failure)


def _excerpt(error: Exception) -> str:
    said = getattr(error, "strerror", None) or str(error) or type(error).__name__
    return str(said)[:REPLY_LETTERS]
