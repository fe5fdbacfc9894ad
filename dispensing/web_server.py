"""Gunicorn inside a running process, for the embedded installation: one worker, a few threads.

The application is loaded before the worker is forked, so pages answer as soon as the port is open. A real installation
starts gunicorn from its own command line and never uses this module.
"""

from __future__ import annotations

import os
import socket
from collections.abc import Callable
from typing import Any

from django.db import connections
from django.urls import get_resolver
from gunicorn.app.base import BaseApplication

from dispensing.wsgi import application

THREADS = 4
SECONDS_TO_FINISH_A_REQUEST = 3


class _Server(BaseApplication):  # type: ignore[misc]  # gunicorn has no types
    def __init__(self, listener: socket.socket, on_ready: Callable[[], None]):
        self._options = {
            "bind": f"fd://{listener.detach()}",
            "worker_class": "gthread",
            "workers": 1,
            "threads": THREADS,
            "preload_app": True,
            "control_socket_disable": True,
            "graceful_timeout": SECONDS_TO_FINISH_A_REQUEST,
            "loglevel": "warning",
            "when_ready": lambda arbiter: on_ready(),
            # Loads the modules of all pages while the user is still looking for the address.
            "post_worker_init": lambda worker: get_resolver().url_patterns,
        }
        super().__init__()

    def load_config(self) -> None:
        for name, value in self._options.items():
            self.cfg.set(name, value)

    def load(self) -> Any:
        return application


def serve(listener: socket.socket, on_ready: Callable[[], None]) -> None:
    """Serves until SIGINT or SIGTERM, then returns. The server takes over the listening socket."""
    connections.close_all()  # A connection must not be shared with the fork.
    master = os.getpid()
    try:
        _Server(listener, on_ready).run()
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else 0
        if os.getpid() != master:
            os._exit(code)  # The forked worker: the clean-up after this call is for the master only.
        if code:
            raise
