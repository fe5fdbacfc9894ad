"""``manage.py send_orders [--watch]``: send what is waiting in the outbox, once or until stopped."""

from __future__ import annotations

import signal
import threading
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from dispensing.watchman import Watchman
from orders.sending.heartbeat import Heartbeat
from orders.sending.worker import send_due, watch


class Command(BaseCommand):
    help = "Send the orders that wait in the outbox."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--watch", action="store_true", help="go on until stopped (SIGTERM or Ctrl-C)")
        parser.add_argument("--pause", type=float, default=5.0, metavar="SECONDS", help="between two looks; default 5")

    def handle(self, *args: Any, **options: Any) -> None:
        if not options["watch"]:
            handled = send_due(heartbeat=Heartbeat())
            Watchman().round(timezone.now())
            self.stdout.write(f"{handled} {'delivery' if handled == 1 else 'deliveries'} handled.")
            return
        stop = threading.Event()
        for name in (signal.SIGTERM, signal.SIGINT):
            signal.signal(name, lambda *_: stop.set())
        self.stdout.write("Sending orders as they come; stop with Ctrl-C.")
        watch(stop, options["pause"])
        self.stdout.write("Stopped; nothing is left half sent.")
