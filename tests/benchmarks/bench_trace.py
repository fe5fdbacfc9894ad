"""What the trace of reading costs a page, with the demo's own data. Prints figures, asserts nothing.

Run: ``DATUMLINE_DATA_DIR=… python -m tests.benchmarks.bench_trace`` on a folder that holds the demo (``manage.py
demo``), or with ``DATABASE_URL`` and ``SECRET_KEY`` of one on PostgreSQL. One page of one patient is asked for many
times, and what the trace takes of it is timed by itself.
"""

from __future__ import annotations

import os
import statistics
import sys
import time

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "dispensing.settings")

ROUNDS = 200
AIM_MS = 2


def main() -> None:
    import django

    django.setup()
    from django.conf import settings
    from django.db import DatabaseError
    from django.test import Client
    from django.urls import reverse

    from dispensing import reading_trace
    from dispensing.models import Patient, StaffUser
    from dispensing.roles import Role
    from tests.benchmarks.bench_order_page import NO_DEMO

    settings.ALLOWED_HOSTS = ["testserver"]
    client, note = Client(), reading_trace._note
    try:
        person, patient = StaffUser.objects.filter(role=Role.DISPENSER).first(), Patient.objects.first()
    except DatabaseError:  # Not even tables.
        person = patient = None
    if person is None or patient is None:
        sys.exit(NO_DEMO.format(place=settings.DATA_DIR))
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    address = reverse("patient-page", args=[patient.public_id])
    spent: list[float] = []

    def timed(request: object) -> None:
        start = time.perf_counter()
        note(request)
        spent.append((time.perf_counter() - start) * 1000)

    reading_trace._note = timed
    pages = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        assert client.get(address, secure=settings.SECURE_SSL_REDIRECT).status_code == 200
        pages.append((time.perf_counter() - start) * 1000)
    print(f"{'':22} {'median ms':>10} {'95 % ms':>8} {'slowest ms':>11}")
    rows = (("a patient's page", pages), ("of which the trace", spent[1:]), ("a visit begun", spent[:1]))
    for name, times in rows:
        times.sort()
        print(f"{name:22} {statistics.median(times):10.2f} {times[int(len(times) * 0.95)]:8.2f} {times[-1]:11.2f}")
    print(f"The aim of the trace: {AIM_MS} ms.")


if __name__ == "__main__":
    main()
