"""Scans of prescriptions read by the machine: taken in, read beside the request, confirmed by a person, settled.

The file is stored before anything reads it, and stays whatever happens to the reader. Reading runs in a thread that
starts a child process with limits; the row says how far it is. A reader that died is started once more by whoever asks.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Mapping
from datetime import date, timedelta
from functools import partial
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.db import connections, transaction
from django.db.models import F
from django.utils import timezone

from dispensing.models import PaperReading, PaperState, Patient, Prescription, PrescriptionScan, StaffUser
from dispensing.prescribing.paper.reading import Reading, read_paper
from dispensing.prescribing.paper.whose import doubts
from dispensing.recognition.fields import WHOSE, fields_of
from dispensing.recognition.runner import MOST_SECONDS, Recognised, Unreadable, recognise_file
from dispensing.services.audit import record
from dispensing.services.files import delete_after_commit, keep, opened
from dispensing.services.paper_figures import keep_figures
from dispensing.services.power_lines import Eyes
from dispensing.services.prescriptions import take_in_prescription
from dispensing.services.scans import cleaned_scan

MOST_ATTEMPTS = 2
LONGEST_REASON = 200
DIED_AFTER = timedelta(seconds=MOST_SECONDS + 30)
GAVE_UP = "The reader gave up on this scan. The scan is kept; type the figures from it."
NOTHING_FOUND = "No prescription was found on it. The scan is kept; type the figures from it."

_one_at_a_time = threading.Semaphore(1)
log = logging.getLogger(__name__)


def add_paper(*, actor: StaffUser, patient: Patient, upload: UploadedFile[bytes], month_first: bool) -> PaperReading:
    """Store a scan for a patient and have it read. Raises ValidationError with what is wrong with the file."""
    content, content_type, suffix = cleaned_scan(upload)
    paper = PaperReading(patient=patient, content_type=content_type, added_by=actor)
    with transaction.atomic():
        paper.sha256 = keep(paper.file, content, suffix)
        paper.save()
        record(actor=actor, verb="paper.add", target=paper, patient=patient)
        transaction.on_commit(partial(start, paper.pk, month_first))
    return paper


@transaction.atomic
def read_scan(*, scan: PrescriptionScan, month_first: bool) -> PaperReading:
    """Have a scan read that was added to a prescription, so that it can be compared with what is recorded."""
    paper = PaperReading.objects.create(
        patient=scan.prescription.patient, scan=scan, content_type=scan.content_type, added_by=scan.added_by
    )
    transaction.on_commit(partial(start, paper.pk, month_first))
    return paper


def start(pk: int, month_first: bool) -> None:
    """Read a paper beside whatever runs now."""
    if settings.READ_PAPERS:
        threading.Thread(target=_in_thread, args=(pk, month_first), daemon=True).start()


def start_again_if_it_died(paper: PaperReading, month_first: bool) -> None:
    """For whoever waits for it: a reader that a restart took with it is started once more."""
    dead = timezone.now() - DIED_AFTER
    if paper.is_done or (paper.started_at or paper.added_at) > dead:
        return
    if paper.attempts >= MOST_ATTEMPTS:
        finish(paper.pk, PaperState.FAILED, said=GAVE_UP)
    elif PaperReading.objects.filter(pk=paper.pk, attempts=paper.attempts).update(started_at=timezone.now()):
        start(paper.pk, month_first)


def _in_thread(pk: int, month_first: bool) -> None:
    try:
        with _one_at_a_time:
            read_now(pk, month_first)
    finally:
        connections.close_all()


def read_now(pk: int, month_first: bool) -> None:
    """Read one paper; whatever goes wrong, its row says so."""
    claimed = PaperReading.objects.filter(pk=pk).exclude(state__in=(PaperState.READ, PaperState.FAILED))
    if not claimed.update(state=PaperState.READING, started_at=timezone.now(), attempts=F("attempts") + 1):
        return
    try:
        paper = PaperReading.objects.select_related("patient", "scan").get(pk=pk)
        with opened(paper.scan.file if paper.scan else paper.file) as stored:
            content = stored.read()
        recognised = recognise_file(content, pictures=True, told=partial(_tell, pk))
        reading = read_paper(recognised.words, month_first)
        said = _said(paper.patient, recognised, reading)
        finish(pk, PaperState.READ, said=said, found=fields_of(reading, recognised.pages))
    except Unreadable as fault:
        finish(pk, PaperState.FAILED, said=f"This file {fault}. It is kept; type the figures from it.")
    except Exception:
        log.exception("Reading paper %s", pk)
        finish(pk, PaperState.FAILED, said=GAVE_UP)


def _tell(pk: int, page: int, pages: int) -> None:
    PaperReading.objects.filter(pk=pk).update(page=page, pages=pages)


@transaction.atomic
def finish(pk: int, state: str, said: str, found: list[dict[str, Any]] | None = None) -> None:
    PaperReading.objects.filter(pk=pk).update(state=state, said=said, found=found or [])
    paper = PaperReading.objects.select_related("scan__prescription").get(pk=pk)
    if paper.scan is not None:
        keep_figures(paper.scan.prescription)


def _said(patient: Patient, recognised: Recognised, reading: Reading) -> str:
    """What a person should know before they look at the figures: pages left out, another name or birth date."""
    said = [recognised.said] if recognised.said else []
    if reading.is_empty and not said:
        said.append(NOTHING_FOUND)
    named, born = reading.facts.get("patient"), reading.facts.get("born_on")
    said += doubts(
        named.text if named else None,
        born.value if born and isinstance(born.value, date) else None,
        family_name=patient.family_name,
        patient_born_on=patient.born_on,
    )
    return " ".join(said)


@transaction.atomic
def take_in_from_paper(
    *,
    actor: StaffUser,
    patient: Patient,
    facts: Mapping[str, Any],
    eyes: Eyes,
    paper: PaperReading,
    settled: Mapping[str, str],
) -> Prescription:
    """Enters a prescription and keeps the scan with it that it was read from. Raises ValidationError."""
    prescription = take_in_prescription(actor=actor, patient=patient, facts=facts, eyes=eyes)
    take_in_paper(actor=actor, paper=paper, prescription=prescription, settled=settled)
    return prescription


@transaction.atomic
def take_in_paper(
    *, actor: StaffUser, paper: PaperReading, prescription: Prescription, settled: Mapping[str, str]
) -> None:
    """Keep the scan with the prescription that was taken in from it. ``settled``: why fields differ from the paper.

    The person who takes it in is kept as the one who confirmed each field.
    """
    scan = PrescriptionScan(
        prescription=prescription,
        content_type=paper.content_type,
        added_by=paper.added_by,
        file=paper.file.name,
        sha256=paper.sha256,
    )
    scan.save()
    paper.scan, paper.file = scan, ""
    paper.confirmed_by, paper.confirmed_at = actor, timezone.now()
    paper.settled = {name: _settled(actor, reason) for name, reason in settled.items()}
    paper.save(update_fields=["scan", "file", "confirmed_by", "confirmed_at", "settled"])
    confirmed = [one["name"] for one in paper.found if one["value"] is not None and one["name"] not in WHOSE]
    record(
        actor=actor,
        verb="paper.confirm",
        target=paper,
        patient=paper.patient,
        changes={"fields": ", ".join(confirmed), **settled},
    )
    keep_figures(prescription)


@transaction.atomic
def settle_difference(*, actor: StaffUser, paper: PaperReading, name: str, reason: str) -> None:
    """What was read in this field does not count, because ``reason``. Raises ValidationError for what is no reason."""
    reason = _whole_reason(reason)
    stored = PaperReading.objects.select_for_update().select_related("patient").get(pk=paper.pk)
    stored.settled = {**stored.settled, name: _settled(actor, reason)}
    stored.save(update_fields=["settled"])
    record(actor=actor, verb="paper.settle", target=stored, patient=stored.patient, changes={name: reason})
    if stored.scan is not None:
        keep_figures(stored.scan.prescription)


def _whole_reason(reason: str) -> str:
    kept = reason.strip()
    if not kept:
        raise ValidationError("Say why it stays as it is recorded.")
    if len(kept) > LONGEST_REASON:
        raise ValidationError(f"This has {len(kept)} characters; at most {LONGEST_REASON} fit.")
    return kept


@transaction.atomic
def discard_paper(*, actor: StaffUser, paper: PaperReading) -> None:
    """Delete a scan that nobody took in; the audit trail still shows that it was there."""
    record(actor=actor, verb="paper.discard", target=paper, patient=paper.patient)
    file = paper.file
    paper.delete()
    delete_after_commit([file])


def _settled(actor: StaffUser, reason: str) -> dict[str, str]:
    return {"reason": reason, "by": actor.display_name, "at": timezone.now().isoformat()}
