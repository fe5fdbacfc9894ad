"""What is left to count when a round is over: lost, done twice, stuck, not done, and what only a person can settle."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from django.conf import settings

from dispensing.models import PrescriptionScan
from orders.delivery_states import DeliveryState
from orders.models import Delivery, Order
from orders.models.deliveries import Channel
from orders.sending.channels.email import message_id
from orders.sending.channels.folder import files_of
from orders.sending.messages import key_of
from tests.evidence.shelf import OF_ROWS, doctors_words
from tests.faults.jobs import Job

ENDED = (DeliveryState.SENT, DeliveryState.FAILED, DeliveryState.UNKNOWN)
CHECKS = (*OF_ROWS, "append-only", "database")


@dataclass
class Taken:
    """What labs have: how often each post and each mail came by which a lab would make a pair."""

    posts: list[str] = field(default_factory=list)
    mails: list[str] = field(default_factory=list)

    def times(self, delivery: Delivery) -> int:
        if delivery.channel == Channel.HTTPS:
            return self.posts.count(key_of(delivery))
        if delivery.channel == Channel.EMAIL:
            return self.mails.count(message_id(delivery))
        folder = Path(settings.LABS_FOLDER) / delivery.address
        return int(all((folder / name).is_file() for name, _ in files_of(delivery)))


@dataclass
class Counted:
    """``named``: each fault in words. ``seen``: what is no fault and worth knowing."""

    jobs: int = 0
    lost: int = 0
    twice: int = 0
    stuck: int = 0
    undone: int = 0
    wrong: int = 0
    for_a_person: int = 0
    named: list[str] = field(default_factory=list)
    seen: Counter[str] = field(default_factory=Counter)

    @property
    def faults(self) -> int:
        return self.lost + self.twice + self.stuck + self.undone + self.wrong

    def fault(self, kind: str, said: str) -> None:
        setattr(self, kind, getattr(self, kind) + 1)
        self.named.append(f"{kind}: {said}")


def of_jobs(jobs: Iterable[Job], into: Counted) -> None:
    for job in jobs:
        into.jobs += 1
        there = job.there()
        if there > 1:
            into.fault("twice", job.what)
        elif job.acknowledged and not there:
            into.fault("lost", f"{job.what}, which a page said was done")
        elif not there:
            into.fault("undone", f"{job.what}; answers {dict(job.answers)}")
        into.seen.update({f"answer {status or 'none'}": times for status, times in job.answers.items()})
        for status in {500, 401, 403, 404} & set(job.answers):
            into.fault("wrong", f"{job.what} was answered {status}")


def of_deliveries(before: int, taken: Taken, into: Counted) -> None:
    """Of those queued since the delivery ``before``, and of orders whose delivery is missing."""
    for delivery in Delivery.objects.filter(pk__gt=before).select_related("document").order_by("pk"):
        times = taken.times(delivery)
        if times > 1:
            into.fault("twice", f"{delivery} came {times} times")
        if delivery.state == DeliveryState.SENT and not times:
            into.fault("lost", f"{delivery} is sent, and the lab has nothing")
        if delivery.state not in ENDED:
            into.fault("stuck", f"{delivery} is {delivery.state}: {delivery.problem}")
        if delivery.state != DeliveryState.SENT:
            into.for_a_person += 1
            into.seen[f"{delivery.state} by {delivery.channel}, and the lab has it {times} times"] += 1
    for order in Order.objects.filter(state="sent", documents__deliveries=None):
        into.fault("lost", f"order {order.number} is sent, and nothing is in the outbox")


def of_files(into: Counted) -> None:
    """Files that no row names: nothing is lost with them, but nobody would delete them either."""
    kept = set(PrescriptionScan.objects.values_list("file", flat=True))
    folder = Path(settings.MEDIA_ROOT)
    for path in folder.rglob("*") if folder.is_dir() else ():
        if path.is_file() and str(path.relative_to(folder)) not in kept:
            into.seen["files that no row names"] = into.seen["files that no row names"] + 1


def of_the_record(into: Counted) -> None:
    for line in doctors_words(only=CHECKS):
        into.fault("wrong", f"the doctor says {line}")
