"""Every address is opened: whatever shows a patient leaves a trace of who looked, and tells nothing to log or address.

The addresses come from the resolver, so a page that somebody adds is opened here too, and fails until it says by its
address whose record it shows or is marked ``@lists_patients``.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction
from django.db.models import Sum
from django.urls import reverse
from django.utils import timezone
from PIL import Image
from pytest_django import Settings
from rest_framework.test import APIClient

from dispensing.models import Look, StaffUser
from orders.models import InspectionPhoto
from tests.access.routes import Route, routes
from tests.bystanders.world import NAMES, World
from tests.people import person, signed_in

# What each part of an address may name here; orders as drafts, as sent and as withdrawn.
RECORDS: dict[str, tuple[str, ...]] = {
    "patient_id": ("patient",),
    "prescription_id": ("near_prescription",),
    "waiting_id": ("wait",),
    "scan_id": ("scan",),
    "pair_id": ("worn_pair",),
    "frame_id": ("own_frame",),
    "fitting_id": ("fitting",),
    "measuring_id": ("measuring", "used_measuring"),
    "photo_id": ("front_of_measuring",),
    "paper_id": ("paper",),
    "defect_photo_id": ("defect_photo",),
    "order_id": ("draft", "sent", "sent_and_cancelled"),
    "document_id": ("document",),
    "delivery_id": ("delivery",),
    "lab_id": ("lab",),
    "catalogue_id": ("catalogue",),
}
WORDS = {
    "name": "right.sphere",
    "username": "ours-worker",
    "rule_id": "power-step-and-range",
    "standard": "iso-21987-2017",
}
NOT_HERE = {"prices_id", "waiting_id"}
"""This world has no price list, which no patient is near, and nobody waiting, whose addresses only take posts."""
BY_VIEW_SET = {
    "api-patient": ("patient",),
    "api-prescription": ("near_prescription",),
    "api-worn-pair": ("worn_pair",),
    "api-paper": ("paper",),
    "api-frame": ("own_frame",),
    "api-fitting": ("fitting",),
    "api-order": ("draft", "sent"),
    "api-lab-order": ("sent",),
    "api-catalogue": ("catalogue",),
}
TYPED = {"patient-find": {"text": "lindqvist"}, "api-patient-find": {"text": "lindqvist"}}


@pytest.fixture
def files(world: World, settings: Settings) -> None:
    """The pictures of the world as files, and a photo of a defect."""
    written = io.BytesIO()
    Image.new("RGB", (64, 48), "grey").save(written, "JPEG")
    Path(settings.MEDIA_ROOT).mkdir(parents=True)
    for row in (world["scan"], world["paper"], world["front_of_measuring"]):
        Path(settings.MEDIA_ROOT, row.file.name).write_bytes(written.getvalue())
    reading, worker = world["finished_reading"], world["worker"]
    photo = InspectionPhoto(reading=reading, point="lenses", added_at=timezone.now(), added_by=worker)
    photo.file = world["scan"].file.name
    photo.save()
    world["ours.defect_photo"] = photo
    world["ours.document"] = world["sent"].documents.get()


def addresses(route: Route, world: World) -> Iterator[str]:
    parts = re.findall(r"<\w+:(\w+)>", route.path)
    if set(parts) & NOT_HERE or route.name.startswith("api-price-list"):
        return
    named: tuple[str, ...] = RECORDS["order_id"] if "order_id" in parts else ("",)
    if "public_id" in parts:
        named = next(names for begins, names in BY_VIEW_SET.items() if route.name.startswith(f"{begins}-"))
    for name in named:
        yield reverse(route.name, kwargs={part: value_of(part, name, world) for part in parts})


def value_of(part: str, name: str, world: World) -> Any:
    if part in WORDS:
        return WORDS[part]
    return world[name or RECORDS[part][0]].public_id


def private(world: World) -> list[str]:
    family, given, phone, _ = NAMES["ours"]
    return [family, given, phone, world["ours.patient"].reference]


def content_of(answer: Any) -> bytes:
    return b"".join(answer.streaming_content) if answer.streaming else answer.content


def shows(answer: Any, words: list[str]) -> bool:
    content = content_of(answer)
    if not 200 <= answer.status_code < 300:
        return False
    kind = answer.headers.get("Content-Type", "")
    return kind.startswith(("image/jpeg", "application/pdf")) or any(word.encode() in content for word in words)


def trace_of(who: StaffUser) -> int:
    found: int | None = Look.objects.filter(person=who).aggregate(answers=Sum("count"))["answers"]
    return found or 0


def callers(route: Route, world: World) -> tuple[Any, StaffUser]:
    if not route.is_api:
        return signed_in("ines"), person("ines")
    who = world["lab_user"] if route.name.startswith("api-lab-order") else person("ines")
    client = APIClient()
    client.force_authenticate(who)
    return client, who


PATHS_LEFT_OUT = {"sign-out", "sign-in"}


@pytest.mark.either_database
@pytest.mark.usefixtures("files")
@pytest.mark.parametrize("method", ["get", "post"])
def test_whatever_shows_a_patient_leaves_a_trace(method: str, world: World, caplog: pytest.LogCaptureFixture) -> None:
    words, untraced, shown, told = private(world), [], set(), []
    for route in routes():
        if route.name in PATHS_LEFT_OUT or route.path.startswith("api/schema"):
            continue
        for address in addresses(route, world):
            client, who = callers(route, world)
            typed = [TYPED.get(route.name, {})] if method == "post" else []
            with transaction.atomic():  # what a post does here is undone: the next address needs the same world
                before = trace_of(who)
                answer = getattr(client, method)(address, *typed)
                if shows(answer, words):
                    shown.add(route.name)
                    untraced += [(route.name, address)] if trace_of(who) == before else []
                transaction.set_rollback(True)
            told += [word for word in words if word in address + answer.headers.get("Location", "")]
    assert not untraced, "These show a patient and leave no trace."
    assert shown >= MUST_SHOW[method], "The test has lost sight of pages that it knows."
    assert not told
    assert not [word for word in words if word in caplog.text]


MUST_SHOW = {
    "get": {
        *("home", "patient-list", "patient-page", "prescription-page", "photo-file", "fitting-page"),
        *("scan-file", "paper-file"),
        *("order-page", "order-list", "order-pdf", "order-json", "inspection-photo", "audit-of-patient"),
        *("api-patient-list", "api-patient-detail", "api-order-detail", "api-order-pdf", "api-lab-order-document"),
    },
    "post": {"patient-find", "api-patient-find", "patient-correct"},
}
