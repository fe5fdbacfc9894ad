"""What a lab's program does with the posts of a practice, and what it posts back. Pure but for what it is given.

Take a post only if its signature holds; take it once (its ``webhook-id`` says whether it is the same); prove the
document by its hash; answer fast, and do the work afterwards; report with a key of one's own, and again until the
practice has answered. A real lab keeps what is kept here in memory in its database.
"""

from __future__ import annotations

import hashlib
import json
import uuid
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import Any

from standardwebhooks import Webhook, WebhookVerificationError

Answer = tuple[int, dict[str, Any]]
QUESTIONS = (
    "Is the frame on its way to us, or are we to supply it?",
    "The trace we have of this frame is 0.4 mm smaller than the box. Which do we follow?",
    "May we use the next larger blank? It adds a little to the thickness.",
)
DAYS_TO_MAKE = 6
BEFORE_TRYING_AGAIN = timedelta(seconds=10)


@dataclass(frozen=True)
class Job:
    """An order that the lab has taken on."""

    number: str
    revision: int
    job_number: str

    @property
    def order(self) -> dict[str, Any]:
        return {"number": self.number, "revision": self.revision}


@dataclass
class Report:
    """Something to tell the practice, when, and under which key."""

    kind: str
    said: dict[str, Any]
    due: datetime
    key: str = field(default_factory=lambda: f"evt_{uuid.uuid4().hex}")


class SampleLab:
    """``ask_every``: of so many orders one is asked about; 0 asks about none. ``pause``: between two steps of a job."""

    def __init__(self, secret: str, *, ask_every: int = 3, pause: timedelta = timedelta(seconds=5)):
        self._signature, self._ask_every, self._pause = Webhook(secret), ask_every, pause
        self.taken: set[str] = set()
        self.jobs: dict[tuple[str, int], Job] = {}
        self.withdrawn: set[tuple[str, int]] = set()
        self.reports: list[Report] = []

    def receive(self, headers: dict[str, str], body: bytes, now: datetime) -> Answer:
        """Status and body of the answer to a post."""
        try:
            told = self._signature.verify(body, headers)
        except (WebhookVerificationError, ValueError):
            return 401, {"error": "The signature does not hold."}
        key = {name.lower(): value for name, value in headers.items()}["webhook-id"]
        if key in self.taken:
            return 200, {"taken": True, "duplicate": True}
        do = {
            "lens_order.sent": self._order,
            "lens_order.withdrawn": self._withdrawal,
            "lens_order.answered": self._answer,
        }.get(told.get("type"))
        if do is None:
            return 400, {"error": "This lab does not know what that is."}
        answer = do(told["data"], now)
        if answer[0] == 200:
            self.taken.add(key)
        return answer

    def _order(self, data: dict[str, Any], now: datetime) -> Answer:
        if hashlib.sha256(data["document"].encode()).hexdigest() != data["sha256"]:
            return 422, {"error": "The document does not fit its hash."}
        order = json.loads(data["document"])
        which = order["number"], order["revision"]
        if which in self.withdrawn:
            # The withdrawal overtook the order: nothing is made.
            return 200, {"taken": True, "made": False}
        self.jobs[which] = job = Job(*which, f"L-{len(self.jobs) + 1:04d}")
        if self._ask_every and len(self.jobs) % self._ask_every == 0:
            question = QUESTIONS[len(self.jobs) // self._ask_every % len(QUESTIONS)]
            self._report("query", {**job.order, "note": question, "job_number": job.job_number}, now)
        else:
            self._accept(job, now)
        return 200, {"taken": True, "job_number": job.job_number}

    def _withdrawal(self, data: dict[str, Any], now: datetime) -> Answer:
        which = data["number"], data["revision"]
        self.withdrawn.add(which)
        self.reports = [report for report in self.reports if _order_of(report) != which]
        self._report("acknowledged", {"number": which[0], "revision": which[1]}, now)
        return 200, {"taken": True}

    def _answer(self, data: dict[str, Any], now: datetime) -> Answer:
        """Our question is answered: the job goes on."""
        job = self.jobs.get((data["number"], data["revision"]))
        if job is not None and (job.number, job.revision) not in self.withdrawn:
            self._accept(job, now)
        return 200, {"taken": True}

    def _accept(self, job: Job, now: datetime) -> None:
        day: date = (now + timedelta(days=DAYS_TO_MAKE)).date()
        self._report("accepted", {**job.order, "job_number": job.job_number, "promised_on": day.isoformat()}, now)
        parcel = {**job.order, "tracking": f"PARCEL-{job.job_number}"}
        self._report("dispatched", parcel, now + self._pause * 3)

    def _report(self, kind: str, said: dict[str, Any], now: datetime) -> None:
        self.reports.append(Report(kind, said, now + self._pause))

    def report_due(self, now: datetime, post: Callable[[dict[str, str], bytes], int]) -> list[tuple[Report, int]]:
        """Post what is due; which reports, and the status of each answer (0: none came).

        What was heard is done with, and what was refused for good is not sent again; anything else is tried later,
        under the same key and with a new signature.
        """
        done = []
        for report in [report for report in self.reports if report.due <= now]:
            status = post(*self.signed(report, now))
            if 200 <= status < 300 or 400 <= status < 500:
                self.reports.remove(report)
            else:
                report.due = now + BEFORE_TRYING_AGAIN
            done.append((report, status))
        return done

    def signed(self, report: Report, now: datetime) -> tuple[dict[str, str], bytes]:
        """Headers and body of the post."""
        body = json.dumps({"type": f"lens_order.{report.kind}", "timestamp": now.isoformat(), "data": report.said})
        headers = {
            "content-type": "application/json",
            "webhook-id": report.key,
            "webhook-timestamp": str(int(now.timestamp())),
            "webhook-signature": self._signature.sign(report.key, now.astimezone(UTC), body),
        }
        return headers, body.encode()


def _order_of(report: Report) -> tuple[Any, Any]:
    return report.said["number"], report.said["revision"]
