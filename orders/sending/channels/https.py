"""A signed post to the lab's own address, by the Standard Webhooks scheme.

The message's key is its ``webhook-id``: the scheme has the receiver use it to refuse what it has already, so a post
whose outcome is unclear is repeated. The connection goes to the one address that was judged (`orders.lab_addresses`),
its certificate must be for the lab's name, no redirect is followed, and neither a slow nor an endless answer holds the
sender up.
"""

from __future__ import annotations

import contextlib
import http.client
import re
import socket
import ssl
import threading
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import urllib3
from django.conf import settings
from standardwebhooks import Webhook
from urllib3.connection import HTTPConnection, HTTPSConnection
from urllib3.util.retry import Retry
from urllib3.util.ssl_match_hostname import CertificateError

from orders.lab_addresses import AddressRefused, NameNotFound, Target, resolved
from orders.models import Delivery
from orders.sending.errors import DeliveryError, Failure
from orders.sending.messages import key_of, text_of
from orders.services.lab_secrets import secrets_of

SECONDS_TO_CONNECT, SECONDS_A_STEP = 10, 30
LARGEST_ANSWER = 64 * 1024
REPLY_LETTERS = 200
TRY_AGAIN = frozenset({408, 425, 429})
_HEADERS = Retry(retry_after_max=24 * 60 * 60)
MAY_ASK_TO_WAIT = frozenset({429, 503})


def send(delivery: Delivery, seconds: float = 60) -> str:
    """Post the message; raises `DeliveryError`. ``seconds``: how long it may take from connecting to the answer."""
    lab = delivery.document.order.lab
    secrets = secrets_of(lab) if lab else []
    if not secrets:
        raise DeliveryError("The lab has no secret to sign with yet; make one on the lab's page.", Failure.PERMANENT)
    body = text_of(delivery)
    return post(_target(delivery.address), body.encode(), _headers(key_of(delivery), body, secrets), seconds)


def _target(url: str) -> Target:
    try:
        return resolved(url, loopback=settings.LABS_ON_THIS_MACHINE)
    except AddressRefused as refused:
        raise DeliveryError(str(refused), Failure.PERMANENT) from refused
    except NameNotFound as unknown:
        raise DeliveryError(str(unknown), Failure.TEMPORARY) from unknown


def _headers(key: str, body: str, secrets: list[str]) -> dict[str, str]:
    """Signed by every secret in force, so that a lab may change to the new one when it likes."""
    now = datetime.now(UTC)
    return {
        "content-type": "application/json",
        "user-agent": "Datumline",
        "webhook-id": key,
        "webhook-timestamp": str(int(now.timestamp())),
        "webhook-signature": " ".join(Webhook(secret).sign(key, now, body) for secret in secrets),
    }


def post(target: Target, body: bytes, headers: dict[str, str], seconds: float, server: str = "lab's server") -> str:
    """What the other side answered, in a line. Raises `DeliveryError`, which says whether it may have arrived.

    ``server``: what it is called in words.
    """
    connection = _connected(target, seconds, server)
    with contextlib.closing(connection), _deadline(connection, seconds) as passed:
        try:
            wanted = {**headers, "Host": target.host_header}
            connection.request("POST", target.path, body=body, headers=wanted, preload_content=False)
            response = connection.getresponse()
            if passed.is_set():
                raise TimeoutError  # What was cut off looks like the end of an answer.
        except (OSError, http.client.HTTPException, urllib3.exceptions.HTTPError) as error:
            why = f"no answer within {seconds:g} seconds" if passed.is_set() else _why(error)
            said = f"The {server} took the message up but did not answer ({why}); it may have arrived."
            raise DeliveryError(said, Failure.UNKNOWN) from error
        answer = _excerpt(response)
    return _judged(response.status, answer, server, _wait(response))


def _connected(target: Target, seconds: float, server: str) -> HTTPConnection:
    """Connected, and the certificate checked; if this fails, nothing has been sent."""
    timeout = min(SECONDS_TO_CONNECT, seconds)
    connection: HTTPConnection
    if target.scheme == "http":
        connection = HTTPConnection(target.ip, target.port, timeout=timeout)
    else:
        connection = HTTPSConnection(
            target.ip,
            target.port,
            timeout=timeout,
            cert_reqs="CERT_REQUIRED",
            ca_certs=settings.LABS_CA_FILE or None,
            server_hostname=target.host,
            assert_hostname=target.host,
        )
    try:
        connection.connect()
    except (ssl.SSLCertVerificationError, CertificateError, urllib3.exceptions.SSLError) as error:
        raise _certificate(target, error) from error
    except (OSError, urllib3.exceptions.HTTPError) as error:
        said = f"The {server} cannot be reached ({_why(error)})."
        raise DeliveryError(said, Failure.TEMPORARY) from error
    if connection.sock is not None:
        connection.sock.settimeout(min(SECONDS_A_STEP, seconds))
    return connection


def _certificate(target: Target, error: Exception) -> DeliveryError:
    said = f"The server at {target.host} cannot prove that it is {target.host} ({_why(error)}). Nothing was sent."
    return DeliveryError(said, Failure.PERMANENT)


@contextlib.contextmanager
def _deadline(connection: HTTPConnection, seconds: float) -> Iterator[threading.Event]:
    """Cut the line when the time is up, however busily the other side keeps us waiting."""
    passed = threading.Event()

    def cut() -> None:
        passed.set()
        with contextlib.suppress(OSError):
            if connection.sock is not None:
                connection.sock.shutdown(socket.SHUT_RDWR)

    timer = threading.Timer(seconds, cut)
    timer.daemon = True
    timer.start()
    try:
        yield passed
    finally:
        timer.cancel()


def _excerpt(response: urllib3.BaseHTTPResponse) -> str:
    """The beginning of the answer. Its status has been read: what becomes of the rest makes no difference."""
    try:
        content = response.read(LARGEST_ANSWER, decode_content=False)
    except (OSError, http.client.HTTPException, urllib3.exceptions.HTTPError):
        content = b""
    words = re.sub(r"[^\x20-\x7e]+", " ", content.decode("utf-8", "replace"))
    return " ".join(words.split())[:REPLY_LETTERS]


def _wait(response: urllib3.BaseHTTPResponse) -> timedelta | None:
    """How long the server asks us to wait, in seconds or until a date (RFC 9110, 10.2.3); None if it does not."""
    asked = response.headers.get("Retry-After", "")
    try:
        return timedelta(seconds=_HEADERS.parse_retry_after(asked)) if asked else None
    except urllib3.exceptions.InvalidHeader:
        return None


def _judged(status: int, answer: str, server: str, wait: timedelta | None) -> str:
    said = f"{status} {answer}".strip()
    if 200 <= status < 300:
        return said
    if 300 <= status < 400:
        text = f"The {server} sends us to another address ({status}). Enter its new address."
        raise DeliveryError(text, Failure.PERMANENT)
    if status in TRY_AGAIN or status >= 500:
        text = f"The {server} cannot take it now: {said}"[:REPLY_LETTERS]
        raise DeliveryError(text, Failure.TEMPORARY, wait if status in MAY_ASK_TO_WAIT else None)
    raise DeliveryError(f"The {server} refused it: {said}"[:REPLY_LETTERS], Failure.PERMANENT)


def _why(error: Exception) -> str:
    """The reason in the system's own words, without the objects that a library prints around it."""
    cause: BaseException = error
    while cause.__cause__ is not None or (cause.args and isinstance(cause.args[-1], Exception)):
        cause = cause.__cause__ or cause.args[-1]
    if isinstance(cause, TimeoutError | urllib3.exceptions.TimeoutError):
        return "it took too long"
    said = getattr(cause, "verify_message", None) or getattr(cause, "strerror", None) or str(cause)
    return str(said or type(cause).__name__)[:REPLY_LETTERS]
