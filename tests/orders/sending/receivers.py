"""Real receivers on loopback that behave as a lab's server may: well, slowly, half, wrongly, or not at all.

``behaviour`` says what each post meets, one after the other; the last goes on for ever. Whatever was taken is in
``taken``: the key of each post that a lab would act on, once for each time it would.
"""

from __future__ import annotations

import contextlib
import socket
import ssl
import struct
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

CERTIFICATES = Path(__file__).parent / "certificates"
CA = CERTIFICATES / "ca.pem"
# Long enough that only the sender's own deadline can end it, and short enough to end with a failing test.
SECONDS_TO_HANG = 60


@dataclass
class Receiver:
    url: str = ""
    behaviour: list[str] = field(default_factory=lambda: ["200"])
    posts: list[tuple[dict[str, str], bytes]] = field(default_factory=list)
    taken: list[str] = field(default_factory=list)
    redirected_to: str = ""
    asks_to_wait: str = ""
    connections: int = 0
    # Set when the test is over, so that a hanging answer ends with it.
    over: threading.Event = field(default_factory=threading.Event)

    def next(self) -> str:
        return self.behaviour.pop(0) if len(self.behaviour) > 1 else self.behaviour[0]

    def take(self, headers: dict[str, str], body: bytes) -> None:
        """As a lab that refuses what it has already."""
        self.posts.append((headers, body))
        key = headers.get("webhook-id") or headers["idempotency-key"]
        if key not in self.taken:
            self.taken.append(key)


class Handler(BaseHTTPRequestHandler):
    server: Any

    def do_POST(self) -> None:
        receiver: Receiver = self.server.receiver
        does = receiver.next()
        if does == "reset in the body":
            self.rfile.read(10)
            return self._reset()
        body = self.rfile.read(int(self.headers["Content-Length"]))
        headers = {name.lower(): value for name, value in self.headers.items()}
        if does == "hang before taking":
            receiver.over.wait(SECONDS_TO_HANG)
            return None
        if does.isdecimal() and int(does) >= 300:
            return self._answer(int(does), receiver)
        receiver.take(headers, body)
        if does == "reset after taking":
            return self._reset()
        if does == "hang after taking":
            receiver.over.wait(SECONDS_TO_HANG)
            return None
        if does == "drip":
            return self._drip(receiver)
        if does == "endless":
            return self._endless(receiver)
        if does == "half an answer":
            self.wfile.write(b"HTTP/1.1 200 OK\r\nContent-Length: 400\r\n\r\n{")
            return self._reset()
        return self._answer(int(does), receiver)

    def _answer(self, status: int, receiver: Receiver) -> None:
        self.send_response(status)
        if receiver.redirected_to:
            self.send_header("Location", receiver.redirected_to)
        if receiver.asks_to_wait:
            self.send_header("Retry-After", receiver.asks_to_wait)
        self.send_header("Content-Length", "15")
        self.end_headers()
        self.wfile.write(b'{"job": "L-12"}')

    def _reset(self) -> None:
        """Not a close but a reset, as when a machine dies."""
        self.connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
        self.close_connection = True
        with contextlib.suppress(OSError):
            self.connection.close()

    def _drip(self, receiver: Receiver) -> None:
        """A header that never ends, a byte at a time."""
        with contextlib.suppress(OSError):
            self.wfile.write(b"HTTP/1.1 200 OK\r\nX-Slow: ")
            while not receiver.over.wait(0.05):
                self.wfile.write(b"x")
                self.wfile.flush()

    def _endless(self, receiver: Receiver) -> None:
        with contextlib.suppress(OSError):
            self.wfile.write(b"HTTP/1.1 200 OK\r\n\r\n")
            while not receiver.over.is_set():
                self.wfile.write(b"x" * 65536)

    def log_message(self, format: str, *args: Any) -> None:
        """Nothing is printed."""


class Server(ThreadingHTTPServer):
    daemon_threads = True
    receiver: Receiver

    def process_request(self, request: Any, client_address: Any) -> None:
        self.receiver.connections += 1
        super().process_request(request, client_address)

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A line that was cut is what these tests are about."""


@contextlib.contextmanager
def receiving(certificate: str = "", *behaviour: str, path: str = "/orders") -> Iterator[Receiver]:
    """A receiver while the block runs; ``certificate``: of which name; without one it speaks unencrypted."""
    receiver = Receiver(behaviour=list(behaviour or ("200",)))
    server = Server(("127.0.0.1", 0), Handler)
    server.receiver = receiver
    if certificate:
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(CERTIFICATES / f"{certificate}.pem")
        server.socket = context.wrap_socket(server.socket, server_side=True, do_handshake_on_connect=False)
    name = "https://localhost" if certificate else "http://127.0.0.1"
    receiver.url = f"{name}:{server.server_address[1]}{path}"
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
    thread.start()
    try:
        yield receiver
    finally:
        receiver.over.set()
        server.shutdown()
        server.server_close()
        thread.join()
