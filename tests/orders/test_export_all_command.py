"""``manage.py export_orders``: every sent order, a file each, and only what is not there yet."""

from __future__ import annotations

import io
import json
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from dispensing.models import Frame
from orders.models import Order, OrderDocument
from orders.services.sending import send_order
from tests.evidence.shelf import change
from tests.known import there
from tests.orders import shop

pytestmark = pytest.mark.django_db


def sent(reference: str, model: str = "Alder") -> OrderDocument:
    order = shop.draft(patient=shop.patient(reference))
    Frame.objects.filter(pk=there(order.frame).pk).update(model=model)
    return send_order(order=Order.objects.get(pk=order.pk), actor=shop.dispenser(), version=order.version)


def export(to: Path, kind: str = "json", **options: Any) -> str:
    out = io.StringIO()
    call_command("export_orders", kind=kind, to=str(to), stdout=out, stderr=io.StringIO(), **options)
    return out.getvalue()


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_every_sent_order_is_written_once_and_drafts_are_not(tmp_path: Path) -> None:
    first, second = sent("P-90001"), sent("P-90002")
    shop.draft(patient=shop.patient("P-90003"))
    folder = tmp_path / "orders"
    assert export(folder) == f"2 orders written to {folder}.\n"
    assert names(folder) == [f"{one.number}-1.json" for one in (first, second)]
    assert (folder / f"{second.number}-1.json").read_bytes() == second.text.encode()
    third = sent("P-90003")
    assert export(folder) == f"1 order written to {folder}.\n"
    assert json.loads((folder / f"{third.number}-1.json").read_text())["number"] == third.number


def test_since_a_day_writes_what_was_sent_from_then_on(tmp_path: Path) -> None:
    old, new = sent("P-90001"), sent("P-90002")
    change(old, frozen_at=timezone.now() - timedelta(days=3))
    export(tmp_path, "pdf", since=timezone.now() - timedelta(days=1))
    assert names(tmp_path) == [f"{new.number}-1.pdf"]


def test_it_goes_on_where_it_was_broken_off(tmp_path: Path) -> None:
    first, second = sent("P-90001"), sent("P-90002")
    reached = {"json": {"after": first.pk, "seen": 1, "done": False}}
    (tmp_path / ".export-place.json").write_text(json.dumps({"reached": reached, "found": []}))
    export(tmp_path)
    assert names(tmp_path) == [f"{second.number}-1.json"]


def test_what_cannot_be_written_is_named_with_the_reason_and_the_rest_is_written(tmp_path: Path) -> None:
    long, fine, changed = sent("P-90001", model="M" * 61), sent("P-90002"), sent("P-90003")
    change(changed, text=changed.text.replace("-2.25", "-7.25"))
    with pytest.raises(CommandError) as refused:
        export(tmp_path, "records")
    said = str(refused.value).splitlines()
    assert len(said) == 3
    assert f"{long} does not fit into records. The frame's model has 61 letters" in said[1]
    assert f"The stored document of {changed} does not fit its hash" in said[2]
    assert names(tmp_path) == [f"{fine.number}-1.txt"]


def test_a_folder_that_cannot_be_is_said_in_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(CommandError, match="file cannot be used") as refused:
        export(tmp_path / "file")
    assert refused.value.returncode == 2
