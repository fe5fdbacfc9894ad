"""The sample lab on the network of this machine: takes posts on loopback, and posts its reports to the practice."""

from __future__ import annotations

import contextlib
import json
import threading
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

from orders.demo.lab.sample_lab import SampleLab

HOST = "127.0.0.1"
LARGEST_BODY = 20 * 1024 * 1024
SECONDS_TO_ANSWER = 10
SECONDS_BETWEEN_LOOKS = 0.2
Say = Callable[[str], None]


class LabServer(ThreadingHTTPServer):
    """``callback``: where the practice takes reports. ``say``: tells whoever watches what happens."""

    daemon_threads = True

    def __init__(self, port: int, lab: SampleLab, callback: str, say: Say):
        super().__init__((HOST, port), _Handler)
        self.lab, self.callback, self.say = lab, callback, say
        self.lock, self.stopped = threading.Lock(), threading.Event()

    @property
    def url(self) -> str:
        return f"http://{HOST}:{self.server_address[1]}/orders"

    @contextlib.contextmanager
    def running(self) -> Iterator[LabServer]:
        """Serve and report while the block runs."""
        loops = [
            threading.Thread(target=self.serve_forever, kwargs={"poll_interval": SECONDS_BETWEEN_LOOKS}, daemon=True),
            threading.Thread(target=self._report, daemon=True),
        ]
        for loop in loops:
            loop.start()
        try:
            yield self
        finally:
            self.stopped.set()
            self.shutdown()
            self.server_close()
            for loop in loops:
                loop.join()

    def _report(self) -> None:
        while not self.stopped.wait(SECONDS_BETWEEN_LOOKS):
            with self.lock:
                done = self.lab.report_due(datetime.now(UTC), self._post)
            for report, status in done:
                heard = {True: "heard", False: f"answered {status or 'nothing'}"}[200 <= status < 300]
                self.say(f"  {report.kind} {report.said['number']}-{report.said['revision']}: {heard}")

    def _post(self, headers: dict[str, str], body: bytes) -> int:
        request = urllib.request.Request(self.callback, body, headers)  # noqa: S310 - the practice's own address
        try:
            with urllib.request.urlopen(request, timeout=SECONDS_TO_ANSWER) as answer:  # noqa: S310
                return int(answer.status)
        except urllib.error.HTTPError as refused:
            return refused.code
        except OSError:
            return 0


class _Handler(BaseHTTPRequestHandler):
    server: LabServer

    def do_POST(self) -> None:
        length = self.headers.get("Content-Length", "")
        if not length.isdecimal() or int(length) > LARGEST_BODY:
            return self._answer(413, {"error": "This is too large, or does not say how large it is."})
        body = self.rfile.read(int(length))
        with self.server.lock:
            status, told = self.server.lab.receive(dict(self.headers.items()), body, datetime.now(UTC))
        self.server.say(f"{status} {self.headers.get('webhook-id', 'a post without a key')} {_in_words(told)}".rstrip())
        return self._answer(status, told)

    def _answer(self, status: int, told: dict[str, Any]) -> None:
        content = json.dumps(told).encode()
        self.send_response(status)
        self.send_header("Content-Type", "application/json")
        self.send_header("Content-Length", str(len(content)))
        self.end_headers()
        self.wfile.write(content)

    def log_message(self, format: str, *args: Any) -> None:
        """The server says itself what matters."""


def _in_words(told: dict[str, Any]) -> str:
    if told.get("duplicate"):
        return "(has it already)"
    return str(told.get("error") or told.get("job_number") or "")
