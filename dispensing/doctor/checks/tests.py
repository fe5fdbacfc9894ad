"""What only the test command needs. A practice does no worse without it, so it is only a note."""

from __future__ import annotations

from collections.abc import Iterator

from dispensing.bootstrap import system_packages
from dispensing.doctor.registry import Diagnosis, doctor_check, note, ok


@doctor_check("tests")
def browser_tests_can_run() -> Iterator[Diagnosis]:
    for need in (system_packages.CHROMIUM, system_packages.LIBATOMIC, system_packages.NGINX):
        if need.is_there():
            yield ok(f"{need.name} is there, for {need.purpose}")
        else:
            line = system_packages.install_line([need])
            yield note(f"{need.name} is missing, for {need.purpose}", f"To run the tests: {line}")
