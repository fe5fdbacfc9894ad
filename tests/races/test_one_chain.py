"""While several people write, several senders keep one chain: every row is sealed once, and nothing is amiss."""

from __future__ import annotations

import threading
from collections import Counter
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection, transaction

from dispensing.doctor.walk import Walk
from dispensing.evidence.broken import breaks, tail
from dispensing.evidence.chain import unpacked
from dispensing.evidence.sealing import Sealer
from dispensing.models import AuditEvent, Seal
from dispensing.services.audit import record

WRITERS, SEALERS, WRITES = 3, 2, 20


@pytest.mark.django_db(transaction=True)
def test_writers_and_sealers_at_once_leave_one_chain_without_a_gap() -> None:
    written = threading.Event()

    def write() -> None:
        for number in range(WRITES):
            with transaction.atomic():
                record(actor=None, verb="patient.register")
                record(actor=None, verb="patient.correct")
                transaction.set_rollback(number % 5 == 4)  # leaves a gap in the keys
        connection.close()

    def seal() -> None:
        sealer = Sealer()
        while not written.is_set():
            sealer.seal()
        connection.close()

    with ThreadPoolExecutor(WRITERS + SEALERS) as pool:
        sealing = [pool.submit(seal) for _ in range(SEALERS)]
        writing = [pool.submit(write) for _ in range(WRITERS)]
        for work in writing:
            work.result()
        written.set()
        for work in sealing:
            work.result()
    Sealer().seal()
    sealed = Counter(key for seal in Seal.objects.all() for key, _ in unpacked(bytes(seal.entries)))
    assert sealed == Counter(AuditEvent.objects.values_list("pk", flat=True))
    assert len(sealed) == WRITERS * WRITES * 2 * 4 // 5
    assert list(Seal.objects.values_list("number", flat=True)) == list(range(1, Seal.objects.count() + 1))
    assert (list(breaks(Walk())), tail()) == ([], (0, None))
