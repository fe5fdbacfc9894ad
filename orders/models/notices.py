"""Notices to patients: how the practice wants them, and each that was put into the outbox, as it was worded.

A notice leaves as a delivery like any other; see :mod:`orders.sending`.
"""

from __future__ import annotations

import uuid
from datetime import time

from django.db import models

from dispensing.models import Patient, StaffUser
from dispensing.models.versions import Versioned
from orders.models.deliveries import Delivery
from orders.notices.quiet import Quiet
from orders.notices.wording import KINDS, USUAL, Kind

KIND_CHOICES = [(str(kind), label) for kind, label in KINDS.items()]


def usual_words() -> dict[str, dict[str, str]]:
    return {str(kind): dict(words) for kind, words in USUAL.items()}


def nothing() -> list[str]:
    return []


def sunday() -> list[int]:
    return [6]


class NoticeSettings(Versioned):
    """One row. ``words``: by kind, then subject, mail and text; ``automatic``: the kinds that go without a press."""

    words = models.JSONField(default=usual_words)
    quiet_from = models.TimeField("quiet from", default=time(20))
    quiet_until = models.TimeField("until", default=time(8))
    quiet_days = models.JSONField("no notices on", default=sunday, blank=True)
    automatic = models.JSONField("sent without a press", default=nothing, blank=True)
    remind_after = models.PositiveSmallIntegerField("reminder after, days", default=14)

    class Meta:
        verbose_name_plural = "notice settings"
        constraints = [models.CheckConstraint(condition=models.Q(pk=1), name="notice_settings_are_one_row")]

    def __str__(self) -> str:
        return "Notices to patients"

    @classmethod
    def current(cls) -> NoticeSettings:
        settings, _ = cls.objects.get_or_create(pk=1)
        return settings

    @property
    def quiet(self) -> Quiet:
        return Quiet(self.quiet_from, self.quiet_until, frozenset(self.quiet_days))

    def wording(self, kind: Kind, part: str) -> str:
        return str(self.words[kind][part])


class Notice(models.Model):
    """One notice, as it leaves. ``key``: of the press or the occasion, so that one is never sent twice. ``asked_by``:
    who pressed; None if the practice has such notices sent by themselves.
    """

    key = models.UUIDField(default=uuid.uuid4, unique=True)
    delivery = models.OneToOneField(Delivery, on_delete=models.PROTECT, related_name="notice")
    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="notices")
    kind = models.CharField(max_length=10, choices=KIND_CHOICES)
    subject = models.CharField(max_length=400, blank=True)
    text = models.TextField()
    asked_by = models.ForeignKey(StaffUser, null=True, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} ({self.delivery.document.number})"
