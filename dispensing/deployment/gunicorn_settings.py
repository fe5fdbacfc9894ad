"""Gunicorn's settings: ``gunicorn -c python:dispensing.deployment.gunicorn_settings dispensing.wsgi``.

Each can be set for one machine by the variable named here, or on gunicorn's own command line, which counts more.
Gunicorn reads each request to its end before it answers, however slowly it comes; keep a proxy in front that does the
waiting (`nginx.conf`, `Caddyfile`).
"""

from __future__ import annotations

import glob
import os
from typing import Any

# A worker needs about 250 MB once it has drawn a PDF, so that many cores do not mean many workers by themselves.
MOST_WORKERS = 8

bind = os.environ.get("WEB_BIND", "127.0.0.1:8001")
workers = int(os.environ.get("WEB_CONCURRENCY") or min(max(2, os.cpu_count() or 1), MOST_WORKERS))
worker_class = "gthread"
threads = int(os.environ.get("WEB_THREADS", "8"))

# A request that takes longer has its worker restarted; the slowest page, a large comparison, takes a few seconds.
timeout = 60
graceful_timeout = 30
# Longer than the proxy keeps an idle connection (60 s), or it would use one that was just closed.
keepalive = 75
# What a library may lose over the weeks is given back; not by all workers at once.
max_requests = 5000
max_requests_jitter = 500

limit_request_line = 4094
limit_request_fields = 60
limit_request_field_size = 8190

umask = 0o077
worker_tmp_dir = "/dev/shm" if os.path.isdir("/dev/shm") else None  # noqa: S108 - gunicorn's own heartbeat file
control_socket_disable = True
loglevel = "warning"


def on_starting(server: Any) -> None:
    """What an earlier start has counted does not count now."""
    folder = os.environ.get("PROMETHEUS_MULTIPROC_DIR")
    if folder:
        os.makedirs(folder, mode=0o700, exist_ok=True)
        for path in glob.glob(os.path.join(folder, "*.db")):
            os.unlink(path)


def child_exit(server: Any, worker: Any) -> None:
    """Forget what a worker that ended was doing just then; what it has counted stays."""
    if os.environ.get("PROMETHEUS_MULTIPROC_DIR"):
        from prometheus_client.multiprocess import mark_process_dead

        mark_process_dead(worker.pid)  # type: ignore[no-untyped-call]  # the library leaves it without types
