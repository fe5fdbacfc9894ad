"""What people do meanwhile: register a patient, keep a scan, send an order; and what they do if no answer comes.

They do as people do: look whether it is there, and if not, do it again. A job is *acknowledged* once a page said that
it was done; from then on it may not be lost.
"""

from __future__ import annotations

import contextlib
import http.client
import random
import threading
import uuid
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from urllib.parse import urlencode

from django.db import Error, connection
from django.urls import reverse

from dispensing.models import Patient, Prescription, PrescriptionScan
from orders.models import Lab, Order, OrderDocument
from tests.builders import a_prescription
from tests.orders import shop

SECONDS_FOR_AN_ANSWER = 60
TOKEN = "T" * 32
SCAN = b"%PDF-1.4\n% The paper of prescription %d\n%%EOF\n"
Body = tuple[str, bytes]


@dataclass
class Job:
    """``there``: how often it is on record. ``answers``: how often each answer came; 0: none."""

    what: str
    path: str
    body: Callable[[], Body]
    there: Callable[[], int]
    acknowledged: bool = False
    answers: Counter[int] = field(default_factory=Counter)


def registering() -> Job:
    """Of a name and a birthday like nobody else's, so that the page asks nothing but whether this very one is there."""
    name, chance = _name(), random.SystemRandom()
    born_on = f"{chance.randint(1, 28)}.{chance.randint(1, 12)}.{chance.randint(1930, 2010)}"
    typed = {"family_name": name, "given_names": _name(), "born_on": born_on}
    there = Patient.objects.filter(family_name=name).count
    return Job(f"patient {name}", reverse("patient-register"), lambda: _form(typed), there)


def _name() -> str:
    return "".join(random.SystemRandom().choices("abcdefghiklmnoprstuvw", k=14)).capitalize()


def keeping_a_scan() -> Job:
    prescription = a_prescription(shop.patient(f"Q-{uuid.uuid4().hex[:8]}"))
    path = reverse("scan-add", args=[prescription.public_id])
    there = PrescriptionScan.objects.filter(prescription=prescription).count
    return Job(f"scan of prescription {prescription.pk}", path, lambda: _upload(prescription), there)


def sending(lab: Lab) -> Job:
    order = shop.draft(patient=shop.patient(f"Q-{uuid.uuid4().hex[:8]}"), lab=lab)
    path = reverse("order-send", args=[order.public_id])

    def body() -> Body:
        return _form({"version": str(Order.objects.values_list("version", flat=True).get(pk=order.pk))})

    return Job(f"order {order.number}", path, body, OrderDocument.objects.filter(order=order).count)


def _form(fields: Mapping[str, str]) -> Body:
    return "application/x-www-form-urlencoded", urlencode({"csrfmiddlewaretoken": TOKEN, **fields}).encode()


def _upload(prescription: Prescription) -> Body:
    edge = "of-the-form"
    part = f'--{edge}\r\nContent-Disposition: form-data; name="%s"%s\r\n\r\n'
    text = part % ("csrfmiddlewaretoken", "") + f"{TOKEN}\r\n" + part % ("scan", '; filename="paper.pdf"')
    return f"multipart/form-data; boundary={edge}", text.encode() + SCAN.replace(b"%d", b"%d" % prescription.pk) + (
        f"\r\n--{edge}--\r\n".encode()
    )


class Worker(threading.Thread):
    """Somebody at a screen of their own, with these jobs to do."""

    def __init__(self, port: int, session: str, jobs: list[Job], seed: int) -> None:
        super().__init__(daemon=True)
        self.port, self.session, self.jobs, self.chance = port, session, jobs, random.Random(seed)
        self.over = threading.Event()

    def run(self) -> None:
        try:
            for job in self.jobs:
                while not self.over.is_set() and not self._done(job):
                    self.over.wait(self.chance.uniform(0.05, 0.4))
        finally:
            connection.close()

    def _done(self, job: Job) -> bool:
        """Whether the page said so, or the record shows it to somebody who looks; or our own fault ends it."""
        try:
            if job.answers[500] or (job.answers and job.there()):
                return True
            status = self._post(job)
        except Error:  # nobody can look now
            connection.close()
            return False
        job.answers[status] += 1
        job.acknowledged = status == 302
        return job.acknowledged

    def _post(self, job: Job) -> int:
        kind, body = job.body()
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=SECONDS_FOR_AN_ANSWER)
        headers = {"Content-Type": kind, "Cookie": f"sessionid={self.session}; csrftoken={TOKEN}", "Host": "localhost"}
        with contextlib.closing(line), contextlib.suppress(OSError, http.client.HTTPException):
            line.request("POST", job.path, body, headers)
            answer = line.getresponse()
            answer.read()
            sent_away = "/sign-in/" in answer.getheader("Location", "")
            return 401 if sent_away else answer.status
        return 0
