"""Whatever is done to the record behind the program's back, the doctor finds it, and says which row it was."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings as configured
from django.db import connection, transaction
from django.db.migrations.recorder import MigrationRecorder
from django.test import override_settings
from pytest_django import Settings

from dispensing.evidence.chain import packed, seal_hash, unpacked
from dispensing.evidence.heads import newest, note_in_file
from dispensing.evidence.tables import between, entry
from dispensing.models import Seal
from orders.documents.canonical import sha256_hex
from tests.evidence.shelf import (
    OF_ROWS,
    Shelf,
    behind_its_back,
    build,
    change,
    delete,
    doctors_words,
    put_in,
    says,
)
from tests.known import there
from tests.stand_in_pdf import no_typesetting

pytestmark = pytest.mark.django_db
Rows = dict[str, Any]


@dataclass(frozen=True)
class Meddling:
    """``named``: what the doctor calls the row; asked of the household that was meddled with, and of the other."""

    title: str
    act: Callable[[Rows, Rows], None]
    named: Callable[[Rows], str]
    says: str
    checks: tuple[str, ...] = OF_ROWS


def row(name: str, noun: str) -> Callable[[Rows], str]:
    return lambda rows: f"{noun} {rows[name].pk}"


def columns(name: str, **new: Any) -> Callable[[Rows, Rows], None]:
    """Sets the columns; a value that is callable is asked with the row."""

    def act(ours: Rows, theirs: Rows) -> None:
        change(ours[name], **{key: value(ours, theirs) if callable(value) else value for key, value in new.items()})

    return act


def gone(*names: str) -> Callable[[Rows, Rows], None]:
    return lambda ours, theirs: delete(*(ours[name] for name in names))


def slipped_in(name: str) -> Callable[[Rows, Rows], None]:
    return lambda ours, theirs: put_in(ours[name], -7)


def other_power(ours: Rows, _: Rows) -> str:
    return str(ours["document"].text.replace("-2.25", "-7.25"))


def with_its_hash(ours: Rows, theirs: Rows) -> None:
    text = other_power(ours, theirs)
    change(ours["document"], text=text, sha256=sha256_hex(text.encode()))


def other_pdf(ours: Rows, theirs: Rows) -> None:
    change(ours["document"], pdf=b"%PDF", pdf_sha256=sha256_hex(b"%PDF"))


def worked_over(ours: Rows, _: Rows) -> None:
    """The row, and in its seal the hash of it."""
    seal = _seal_of(ours["event"])
    change(ours["event"], note="Never said")
    entries = [(key, b"\0" * 32 if key == ours["event"].pk else found) for key, found in unpacked(bytes(seal.entries))]
    with behind_its_back():
        Seal.objects.filter(pk=seal.pk).update(entries=packed(entries))


def chain_made_anew(ours: Rows, _: Rows) -> None:
    """The best that somebody can do who owns the database: every seal from the changed one on, and all of it fits."""
    change(ours["event"], note="Never said")
    _make_the_chain_anew()


def _make_the_chain_anew() -> None:
    previous = ""
    with behind_its_back():
        for seal in Seal.objects.order_by("number"):
            entries = packed(entry(seal.table, found) for found in between(seal.table, seal.after, seal.through))
            facts = (seal.number, seal.table, seal.after, seal.through, seal.sealed_at)
            previous = seal_hash(previous, *facts, entries)
            Seal.objects.filter(pk=seal.pk).update(entries=entries, sha256=previous)


def _seal_of(found: Any) -> Seal:
    return Seal.objects.get(table=found._meta.db_table, after__lt=found.pk, through__gte=found.pk)


def sql(on_sqlite: str, on_postgresql: str) -> Callable[[Rows, Rows], None]:
    def act(_: Rows, __: Rows) -> None:
        with connection.cursor() as cursor:
            cursor.execute(on_sqlite if connection.vendor == "sqlite" else on_postgresql)

    return act


def on(name: str) -> str:
    """The trigger on this table that refuses to change a row."""
    return f"{name}_no_update" if connection.vendor == "sqlite" else f"{name}_append_only"


def file_lost(ours: Rows, _: Rows) -> None:
    (Path(configured.MEDIA_ROOT) / ours["photo"].file.name).unlink()


def other_file(ours: Rows, _: Rows) -> None:
    (Path(configured.MEDIA_ROOT) / ours["scan"].file.name).write_bytes(b"x")


def document(rows: Rows) -> str:
    return str(rows["document"])


TRIGGERS = ("append-only",)
A_MINUTE = timedelta(minutes=1)
EVENT, AUDIT, WORD = row("event", "order event"), row("audit", "audit event"), row("word", "lab word")
CHANGED, MISSING = "was changed after it was sealed", "is missing"
TRIGGER_GONE = (
    "DROP TRIGGER orders_orderevent_no_update",
    "DROP TRIGGER orders_orderevent_append_only ON orders_orderevent",
)
HARMLESS = """
    CREATE OR REPLACE FUNCTION orders_orderevent_refuse() RETURNS trigger LANGUAGE plpgsql AS
    $$ BEGIN RETURN NEW; END $$
"""


def harmless_trigger(ours: Rows, theirs: Rows) -> None:
    sql(TRIGGER_GONE[0], HARMLESS)(ours, theirs)
    never = "CREATE TRIGGER orders_orderevent_no_update BEFORE UPDATE ON orders_orderevent WHEN 0 BEGIN SELECT 1; END"
    sql(never, "SELECT 1")(ours, theirs)


def events_trigger(rows: Rows) -> str:
    """Beside it, the one on another table."""
    return f"the trigger {on('orders_orderevent' if rows['patient'].reference == 'P-90001' else 'orders_labword')}"


MEDDLING = [
    Meddling("another actor", columns("audit", actor=lambda _, theirs: theirs["worker"]), AUDIT, CHANGED),
    Meddling("another time", columns("audit", at=lambda ours, _: ours["audit"].at - A_MINUTE), AUDIT, CHANGED),
    Meddling("another patient", columns("audit", patient=lambda _, theirs: theirs["patient"]), AUDIT, CHANGED),
    Meddling("other changes", columns("audit", changes={"lab": [None, "Another"]}), AUDIT, CHANGED),
    Meddling("an entry taken out", gone("audit"), AUDIT, MISSING),
    Meddling(
        "an entry slipped in",
        slipped_in("audit"),
        lambda rows: "audit event -7" if rows["patient"].reference == "P-90001" else AUDIT(rows),
        "was put in after",
    ),
    Meddling("another kind of event", columns("event", kind="query"), EVENT, CHANGED),
    Meddling("an event of another order", columns("event", order=lambda _, theirs: theirs["order"]), EVENT, CHANGED),
    Meddling("another note", columns("event", note="By telephone"), EVENT, CHANGED),
    Meddling("an event taken out", gone("word", "event"), EVENT, MISSING),
    Meddling("a lab's word changed", columns("word", job_number="J-1"), WORD, CHANGED),
    Meddling("a lab's word taken out", gone("word"), WORD, MISSING),
    Meddling("another power", columns("document", text=other_power), document, "does not fit its hash"),
    Meddling("another power with its hash", with_its_hash, row("document", "order document"), CHANGED),
    Meddling("another PDF", columns("document", pdf=b"%PDF"), document, "a PDF that does not fit its hash"),
    Meddling("another PDF with its hash", other_pdf, row("document", "order document"), CHANGED),
    Meddling(
        "another report", columns("document", report='{"verdict":"clear"}'), row("document", "order document"), CHANGED
    ),
    Meddling(
        "a document of another order",
        columns("document", order=lambda _, theirs: theirs["order"]),
        document,
        "belongs to the order",
    ),
    Meddling(
        "an order of another patient",
        columns("order", patient=lambda _, theirs: theirs["patient"]),
        document,
        "is for the patient P-90001, and its order for P-90002",
    ),
    Meddling(
        "frozen at another time",
        columns("document", frozen_at=lambda ours, _: ours["document"].frozen_at - A_MINUTE),
        document,
        "was frozen at another time",
    ),
    Meddling(
        "frozen by somebody else",
        columns("document", frozen_by=lambda _, theirs: theirs["worker"]),
        document,
        "was frozen by somebody else",
    ),
    Meddling(
        "sent at another time",
        columns("order", sent_at=lambda ours, _: ours["order"].sent_at - A_MINUTE),
        document,
        "was frozen at another time",
    ),
    Meddling("a sent order a draft again", columns("order", state="draft"), document, "its order is a draft"),
    Meddling("a document taken out", gone("document"), document, "was sent, and has no document"),
    Meddling(
        "an order taken out", gone("order"), lambda rows: f"audit event {rows['audit'].pk}", "the order of audit event"
    ),
    Meddling(
        "an order taken out, its number left",
        gone("order"),
        lambda rows: f"number {rows['order'].number}",
        "no order has the number",
        ("order-numbers",),
    ),
    Meddling("another place", columns("order", place="at the lab"), document, "is not at the place of its last event"),
    Meddling(
        "a withdrawal to acknowledge that was none",
        columns("order", to_acknowledge=True),
        document,
        "is wrongly marked as to whether the lab acknowledged its withdrawal",
    ),
    Meddling(
        "another verdict",
        columns("reading", verdict={"verdict": "accept"}),
        row("reading", "finished reading"),
        "which is not its verdict",
    ),
    Meddling(
        "a reading of another pair",
        columns("reading", document=lambda _, theirs: theirs["document"]),
        row("reading", "finished reading"),
        "is held against D-",
    ),
    Meddling("another decision", columns("decision", reason="A trifle"), row("decision", "decision"), CHANGED),
    Meddling(
        "a hand-over to somebody else",
        columns("hand_over", collector_name="A. Nother"),
        row("hand_over", "hand over"),
        CHANGED,
    ),
    Meddling("aftercare taken out", gone("aftercare"), row("aftercare", "aftercare note"), MISSING),
    Meddling("a photo's row taken out", gone("photo"), row("photo", "inspection photo"), MISSING),
    Meddling("a photo lost", file_lost, row("photo", "inspection photo"), "has lost its file"),
    Meddling(
        "another scan",
        other_file,
        row("scan", "prescription scan"),
        "has another file in",
    ),
    Meddling(
        "another catalogue", columns("catalogue", text="{}"), row("catalogue", "catalogue"), "does not fit its hash"
    ),
    Meddling(
        "a catalogue taken out", gone("catalogue"), document, "was checked by a catalogue that is not here any more"
    ),
    Meddling(
        "another price", columns("prices", text="design,amount\n"), row("prices", "price list"), "does not fit its hash"
    ),
    Meddling(
        "a patient taken out",
        gone("patient"),
        lambda rows: f"audit event {rows['audit'].pk} points at a patient",
        "is not there",
        ("references",),
    ),
    Meddling("a trigger taken off", sql(*TRIGGER_GONE), events_trigger, "is missing", TRIGGERS),
    Meddling("a trigger that does nothing", harmless_trigger, events_trigger, "was changed", TRIGGERS),
]


@pytest.fixture(scope="module")
def _built(
    django_db_setup: Any, django_db_blocker: Any, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[Shelf, Path]]:
    folder = tmp_path_factory.mktemp("shelf") / "files"
    with django_db_blocker.unblock(), transaction.atomic():
        with no_typesetting(), override_settings(MEDIA_ROOT=folder):
            shelf = build()
        yield shelf, folder
        transaction.set_rollback(True)


@pytest.fixture
def shelf(_built: tuple[Shelf, Path], db: None, settings: Settings) -> Iterator[Shelf]:
    """As it was built, its newest seal noted; whatever is done to it is undone."""
    shelf, folder = _built
    shutil.copytree(folder, settings.MEDIA_ROOT)
    head = newest()
    assert head is not None
    note_in_file(head)
    with transaction.atomic():
        yield shelf
        transaction.set_rollback(True)


def test_nothing_is_found_where_nobody_meddled(shelf: Shelf) -> None:
    assert doctors_words(only=()) == []


@pytest.mark.parametrize("meddling", MEDDLING, ids=lambda meddling: meddling.title)
def test_meddling_is_found_and_its_neighbour_is_not_named(shelf: Shelf, meddling: Meddling) -> None:
    ours, theirs = shelf.of("ours"), shelf.of("theirs")
    named, beside = meddling.named(ours), meddling.named(theirs)
    meddling.act(ours, theirs)
    lines = doctors_words(only=meddling.checks)
    assert any(says([line], named) and meddling.says in line for line in lines), lines
    assert not says(lines, beside), lines


def seal_of(shelf: Shelf) -> Seal:
    return _seal_of(shelf.of("ours")["event"])


def test_a_seal_that_was_worked_over_is_named_and_the_next_one_holds(shelf: Shelf) -> None:
    seal = seal_of(shelf)
    worked_over(shelf.of("ours"), shelf.of("theirs"))
    lines = doctors_words()
    assert [says([line], str(seal)) for line in lines] == [True]
    assert "was changed, or does not follow from the one before it" in lines[0]
    assert Seal.objects.filter(number__gt=seal.number).exists()


def test_a_seal_that_was_taken_out_is_missed_with_the_rows_it_was_about(shelf: Shelf) -> None:
    seal = seal_of(shelf)
    with behind_its_back() as cursor:
        cursor.execute("DELETE FROM dispensing_seal WHERE number = %s", [seal.number])
    (line,) = doctors_words()
    assert says([line], f"{seal} missing")


def test_a_chain_made_anew_agrees_with_itself_and_not_with_what_was_noted_elsewhere(shelf: Shelf) -> None:
    head = there(newest())
    chain_made_anew(shelf.of("ours"), shelf.of("theirs"))
    (line,) = doctors_words()
    assert says([line], f"seal {head.number}")
    assert "is another one now, so the chain was made anew" in line


def test_a_chain_that_was_cut_short_is_found_by_the_seal_that_was_noted(shelf: Shelf) -> None:
    head = there(newest())
    with behind_its_back() as cursor:
        cursor.execute("DELETE FROM dispensing_seal WHERE number = %s", [head.number])
    (line,) = doctors_words()
    assert says([line], f"seal {head.number}")
    assert "is missing, so the chain was made anew" in line


def test_the_seal_of_a_mail_is_compared_too(shelf: Shelf) -> None:
    head = there(newest())
    assert doctors_words("--head", f"{head.number}:{head.sha256}") == []
    (line,) = doctors_words("--head", f"{head.number}:{'0' * 64}")
    assert f"seal {head.number} given with --head is another one now" in line


def test_an_unknown_migration_is_named(shelf: Shelf) -> None:
    MigrationRecorder(connection).record_applied("orders", "0099_from_elsewhere")
    (line,) = doctors_words(only=("database",))
    assert "the database was changed by orders.0099_from_elsewhere, which this program does not know" in line


def test_a_trigger_that_is_not_ours_is_named(shelf: Shelf) -> None:
    body = "BEFORE INSERT ON orders_labword"
    sql(
        f"CREATE TRIGGER quiet {body} BEGIN SELECT 1; END",
        f"CREATE TRIGGER quiet {body} FOR EACH ROW EXECUTE FUNCTION orders_labword_refuse()",
    )({}, {})
    (line,) = doctors_words(only=TRIGGERS)
    assert "orders_labword has a trigger of somebody else's, quiet" in line


def test_rows_that_no_seal_is_about_any_more_are_missed(shelf: Shelf) -> None:
    """A seal that begins later, with a chain that fits: the rows it leaves out could be changed."""
    seal, event = seal_of(shelf), shelf.of("ours")["event"]
    with behind_its_back():
        Seal.objects.filter(pk=seal.pk).update(after=event.pk)
    _make_the_chain_anew()
    lines = doctors_words(only=("seals",))
    assert len(lines) == 1
    assert f"to {event.pk} of orders_orderevent" in lines[0]
    assert "no seal is about rows" in lines[0]


@pytest.mark.postgres
def test_a_trigger_that_is_switched_off_is_named(shelf: Shelf) -> None:
    sql("", "ALTER TABLE orders_orderevent DISABLE TRIGGER orders_orderevent_append_only")({}, {})
    (line,) = doctors_words(only=TRIGGERS)
    assert "the trigger orders_orderevent_append_only is switched off" in line
    assert "so rows of orders_orderevent can be changed or deleted" in line
