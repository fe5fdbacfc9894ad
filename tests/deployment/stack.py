"""Datumline as it is deployed, on this machine: web processes with gunicorn's settings behind the example for nginx.

The example is used as it is but for what names a machine: ports, certificate and where files lie. The database is the
test's own; everything that a web process keeps lies in a folder of this stack.
"""

from __future__ import annotations

import contextlib
import http.client
import os
import re
import socket
import ssl
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from urllib.parse import quote, urlencode

from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.test import override_settings

from dispensing.bootstrap.system_packages import nginx
from tests.known import there
from tests.orders.sending.receivers import CA, CERTIFICATES

ROOT = Path(__file__).resolve().parents[2]
EXAMPLE = ROOT / "dispensing" / "deployment" / "nginx.conf"
SECONDS_TO_START = 60
METRICS_TOKEN = "of-the-program-that-watches"
# As a browser says it that reached nginx at its usual port.
ORIGIN = "https://localhost"
FORM = {"Content-Type": "application/x-www-form-urlencoded", "Origin": ORIGIN}
WRAPPER = """
{user}
daemon off; pid {folder}/pid; error_log {folder}/error.log; worker_processes 1;
events {{ worker_connections 512; }}
http {{
    access_log {folder}/access.log;
    client_body_temp_path {folder}/body; proxy_temp_path {folder}/proxy; fastcgi_temp_path {folder}/fastcgi;
    uwsgi_temp_path {folder}/uwsgi; scgi_temp_path {folder}/scgi;
    include {folder}/site.conf;
}}
"""


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def database_url() -> str:
    """The test's own database, as an installation would name it."""
    of = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{of['NAME']}"
    host = of["OPTIONS"].get("host") or of["HOST"]
    return f"postgres://{of['USER']}@/{of['NAME']}?host={quote(str(host), safe='')}"


def environment(data: Path, **more: str) -> dict[str, str]:
    """What an installation behind one proxy is set to."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("DJANGO_", "TEST_"))}
    return {
        **kept,
        "DATABASE_URL": database_url(),
        "SECRET_KEY": settings.SECRET_KEY,
        "ALLOWED_HOSTS": "localhost",
        "TRUSTED_PROXIES": "1",
        "DATUMLINE_DATA_DIR": str(data),
        "WEB_CONCURRENCY": "1",
        **more,
    }


def started(command: list[str], environ: Mapping[str, str], log: Path) -> subprocess.Popen[bytes]:
    with log.open("ab") as out:
        return subprocess.Popen(command, cwd=ROOT, env=environ, stdout=out, stderr=out)


def web_process(port: int, environ: Mapping[str, str], log: Path) -> subprocess.Popen[bytes]:
    own = "python:dispensing.deployment.gunicorn_settings"
    command = [sys.executable, "-m", "gunicorn", "-c", own, "dispensing.wsgi"]
    own_figures = str(log.with_name(f"counted-{port}"))
    binds = {"WEB_BIND": f"127.0.0.1:{port}", "PROMETHEUS_MULTIPROC_DIR": own_figures}
    return started(command, {**environ, **binds}, log)


def until(what: Callable[[], bool], saying: Callable[[], str] = str) -> None:
    """Looks again and again whether something outside this process has happened; ``saying``: what to add if not."""
    pause, deadline = threading.Event(), time.monotonic() + SECONDS_TO_START
    while not what():
        assert time.monotonic() < deadline, f"It did not happen. {saying()}"
        pause.wait(0.05)


def until_it_listens(process: subprocess.Popen[bytes], port: int, log: Path) -> None:
    def listens() -> bool:
        assert process.poll() is None, f"This did not start: {process.args!r}\n{log.read_text(errors='replace')}"
        with contextlib.suppress(OSError):
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
            return True
        return False

    until(listens, lambda: log.read_text(errors="replace"))


class Stack:
    """``port``: where nginx answers by TLS; ``web``: the web processes, in the order of nginx's list."""

    def __init__(self, folder: Path, wait_s: int) -> None:
        self.folder, self.wait_s, self.port = folder, wait_s, free_port()
        self.web_ports = [free_port(), free_port()]
        self.environ = environment(folder / "data", METRICS_TOKEN=METRICS_TOKEN)
        self.web: list[subprocess.Popen[bytes]] = []

    @contextlib.contextmanager
    def running(self) -> Iterator[Stack]:
        processes: list[subprocess.Popen[bytes]] = []
        try:
            self._collect_static_files()
            processes += [web_process(port, self.environ, self.log) for port in self.web_ports]
            self.web = processes[:]
            processes.append(started([there(nginx()), "-c", str(self._nginx_settings())], os.environ, self.log))
            for process, port in zip(processes, [*self.web_ports, self.port]):
                until_it_listens(process, port, self.log)
            yield self
        finally:
            for process in processes:
                process.terminate()
            for process in processes:
                process.wait(SECONDS_TO_START)

    @property
    def log(self) -> Path:
        return self.folder / "log"

    def _collect_static_files(self) -> None:
        """Under the names that an installation gives them, but not compressed, which takes most of the time."""
        hashed = {"BACKEND": "django.contrib.staticfiles.storage.ManifestStaticFilesStorage"}
        where = {
            "STATIC_ROOT": self.folder / "data" / "static",
            "STORAGES": {**settings.STORAGES, "staticfiles": hashed},
        }
        with override_settings(**where):
            call_command("collectstatic", interactive=False, verbosity=0)

    def _nginx_settings(self) -> Path:
        certificate = CERTIFICATES / "localhost.pem"
        site = EXAMPLE.read_text()
        for was, now in (
            ("127.0.0.1:8001", f"127.0.0.1:{self.web_ports[0]}"),
            ("127.0.0.1:8002", f"127.0.0.1:{self.web_ports[1]}"),
            ("listen 80;", f"listen 127.0.0.1:{free_port()};"),
            ("listen 443 ssl;", f"listen 127.0.0.1:{self.port} ssl;"),
            ("practice.example;", "localhost;"),
            ("/etc/ssl/practice.example.pem", str(certificate)),
            ("/etc/ssl/private/practice.example.key", str(certificate)),
            ("_timeout 10s;", f"_timeout {self.wait_s}s;"),
        ):
            assert was in site, f"{EXAMPLE.name} no longer says {was!r}"
            site = site.replace(was, now)
        (self.folder / "site.conf").write_text(site)
        path = self.folder / "nginx.conf"
        path.write_text(WRAPPER.format(folder=self.folder, user="user root;" if os.geteuid() == 0 else ""))
        return path

    def socket(self) -> ssl.SSLSocket:
        """A connection to nginx on which anything, or half of it, can be sent."""
        raw = socket.create_connection(("127.0.0.1", self.port), timeout=SECONDS_TO_START)
        return ssl.create_default_context(cafile=str(CA)).wrap_socket(raw, server_hostname="localhost")


class Browser:
    """Goes through nginx, keeps cookies, and sends each form's own token; no more of a browser than that."""

    def __init__(self, stack: Stack) -> None:
        self.stack, self.cookies = stack, dict[str, str]()

    def ask(
        self, method: str, path: str, body: bytes | None = None, headers: Mapping[str, str] | None = None
    ) -> tuple[int, str, str]:
        """Status, text and the ``Location`` of one answer."""
        context = ssl.create_default_context(cafile=str(CA))
        line = http.client.HTTPSConnection("localhost", self.stack.port, timeout=SECONDS_TO_START, context=context)
        with contextlib.closing(line):
            jar = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
            line.request(method, path, body, {"Cookie": jar, **(headers or {})})
            answer = line.getresponse()
            for name, value in answer.getheaders():
                if name.lower() == "set-cookie":
                    key, _, rest = value.partition("=")
                    self.cookies[key] = rest.split(";")[0]
            return answer.status, answer.read().decode(errors="replace"), answer.getheader("Location", "")

    def post(self, path: str, fields: Mapping[str, str], **headers: str) -> tuple[int, str, str]:
        """Fetches the page that has the form, then sends it as filled in."""
        _, text, _ = self.ask("GET", path)
        token = there(re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', text))[1]
        body = urlencode({"csrfmiddlewaretoken": token, **fields}).encode()
        return self.ask("POST", path, body, {**FORM, "Referer": ORIGIN + path, **headers})
