"""``manage.py doctor``: what is missing on this machine or wrong with it, one line each, ending in what to do.

Exit code 0: nothing wrong; 1: something is. Works when the database is down.
"""

from __future__ import annotations

import sys
from typing import Any

from django.core.management.base import BaseCommand
from django.utils.module_loading import autodiscover_modules

from dispensing.doctor.registry import Level, diagnose


class Command(BaseCommand):
    help = "Says what is missing on this machine or wrong with it, and what to do about it."
    requires_system_checks: list[str] = []

    def handle(self, *args: Any, **options: Any) -> None:
        autodiscover_modules("doctor")
        levels = set()
        for check_id, diagnosis in diagnose():
            levels.add(diagnosis.level)
            self.stdout.write(f"{diagnosis.level:<6}{check_id}: {diagnosis.said}. {diagnosis.to_do}")
        if Level.WRONG in levels:
            sys.exit(1)
