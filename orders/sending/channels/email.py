"""E-mail by Django's mail settings: to the lab the stored PDF, its JSON beside it if the lab wants that, no patient; to
a patient a notice.

What a mail says is in ``printing.content.mail``; an answer to it goes to the practice.
The Message-ID is derived from the delivery's id, so that one mail sent twice can be told from two mails. Once the
message has been handed over, a broken connection leaves the result unknown; before that, sending can be retried.
"""

from __future__ import annotations

import smtplib
from typing import Any

from django.conf import settings
from django.core.mail import EmailMessage, get_connection
from django.core.mail.backends.smtp import EmailBackend

from dispensing.models import Practice
from orders.documents.lens_order import LensOrder, parse_order
from orders.models import Delivery, OrderDocument
from orders.models.deliveries import Message
from orders.printing.content.mail import from_whom, order_mail, reply_to
from orders.sending.channels.notices import notice
from orders.sending.errors import DeliveryError, Failure

ID_DOMAIN = "orders.datumline.invalid"
REPLY_LETTERS = 200
MAILS_A_CONNECTION = 50
"""Servers hang up after a hundred or so (common practice)."""
OK = 250


class Mailer:
    """Sends several mails by one connection: a server greets, encrypts and asks for the password once.

    Whatever goes wrong, the next mail begins with a new one; so does each after `MAILS_A_CONNECTION`. Only a mail
    server is spoken with like this; what else takes mails (a file for each, in the demo) is opened for every mail.
    """

    def __init__(self) -> None:
        self._connection: EmailBackend | None = None
        self._sent = 0

    def send(self, delivery: Delivery) -> str:
        """Send one mail by the installation's mail settings. Raises `DeliveryError`."""
        connection = get_connection(fail_silently=False)
        if not isinstance(connection, EmailBackend):
            return send(delivery, connection)
        message = message_for(delivery)
        if self._connection is None or self._sent >= MAILS_A_CONNECTION or not _answers(self._connection):
            self.close()
            _open(connection)
            self._connection = connection
        try:
            said = _hand_over(message, self._connection)
        except BaseException:
            self.close()
            raise
        self._sent += 1
        return said

    def close(self) -> None:
        if self._connection is not None:
            _close(self._connection)
        self._connection, self._sent = None, 0


def _answers(connection: EmailBackend) -> bool:
    """Whether the server is still there: it may have hung up since the last mail, before anything of this one left."""
    try:
        return connection.connection is not None and connection.connection.noop()[0] == OK
    except (OSError, smtplib.SMTPException):
        return False


def send(delivery: Delivery, connection: Any = None) -> str:
    """Send one mail, by the installation's mail settings unless a connection is given. Raises `DeliveryError`."""
    connection = connection or get_connection(fail_silently=False)
    _open(connection)
    try:
        return _hand_over(message_for(delivery), connection)
    finally:
        _close(connection)


def _hand_over(message: EmailMessage, connection: Any) -> str:
    try:
        accepted = connection.send_messages([message])
    except smtplib.SMTPRecipientsRefused as error:
        code, text = next(iter(error.recipients.values()))
        raise _refused(code, text) from error
    except smtplib.SMTPResponseException as error:
        raise _refused(error.smtp_code, error.smtp_error) from error
    except (OSError, smtplib.SMTPServerDisconnected) as error:
        said = f"The mail server broke off while taking the message ({_excerpt(error)}); it may have arrived."
        raise DeliveryError(said, Failure.UNKNOWN) from error
    if not accepted:
        raise DeliveryError("The message was not accepted for sending. Check the mail settings.", Failure.PERMANENT)
    return f"Handed to {settings.EMAIL_BACKEND.rsplit('.', 2)[-2]}"


def message_for(delivery: Delivery) -> EmailMessage:
    """The mail for a delivery: the same at every attempt."""
    if delivery.message == Message.NOTICE:
        return _to_patient(delivery)
    document = delivery.document
    order = parse_order(document.text)
    if delivery.message != Message.ORDER:
        subject, body = notice(delivery)
        return _mail(delivery, order, f"{subject}, from {from_whom(order)}", body)
    with_json = _wants_json(document)
    said = order_mail(order, document.sha256, with_json=with_json)
    message = _mail(delivery, order, said.subject, said.body)
    stem = f"{document.number}-{document.revision}"
    message.attach(f"{stem}.pdf", bytes(document.pdf), "application/pdf")
    if with_json:
        message.attach(f"{stem}.json", document.text.encode(), "application/json")
    return message


def _mail(delivery: Delivery, order: LensOrder, subject: str, body: str) -> EmailMessage:
    """Answered by the lab, it comes to the practice and not to the address that programs send from."""
    back = reply_to(order)
    return EmailMessage(
        subject=subject,
        body=body,
        to=[delivery.address],
        reply_to=[back] if back else None,
        headers={"Message-ID": message_id(delivery), "Auto-Submitted": "auto-generated"},
    )


def _to_patient(delivery: Delivery) -> EmailMessage:
    """A notice as it was worded; answered by the patient, it comes to the practice."""
    practice = Practice.current()
    return EmailMessage(
        subject=delivery.notice.subject,
        body=delivery.notice.text,
        to=[delivery.address],
        reply_to=[practice.email] if practice.email else None,
        headers={"Message-ID": message_id(delivery), "Auto-Submitted": "auto-generated"},
    )


def _wants_json(document: OrderDocument) -> bool:
    """Whether the lab takes the JSON beside the PDF, which has it inside in any case."""
    lab = document.order.lab
    return lab is None or lab.wants_json


def message_id(delivery: Delivery) -> str:
    return f"<{delivery.public_id}@{ID_DOMAIN}>"


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
