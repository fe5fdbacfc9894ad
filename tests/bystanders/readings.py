"""What each query returns of our household while two others stand by: one row per question, one to add for a new query.

``asked`` puts the question; ``given`` are the names of the rows that must come back, in that order, or any other value.
A name without a household belongs to ours.
"""

from __future__ import annotations

import base64
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.utils import timezone

from dispensing.queries import (
    audit,
    duplicates,
    finding,
    fittings,
    frames,
    limits,
    paging,
    papers,
    patients,
    photo_fittings,
    prescribed_powers,
    prescriptions,
    protection,
    second_factors,
    sessions,
    staff,
    waiting,
    worn_pairs,
)
from orders import board_queries, desk_queries, facts
from orders import queries as orders
from orders.board_queries import sorted_board
from orders.forms.job import Offered
from orders.models import Order
from orders.progress import EventKind, Place
from orders.services import catalogue_looks, catalogues, drafts, events, finished_pairs, judging
from tests.bystanders.world import CATALOGUES, HOUSEHOLDS, World
from tests.known import there
from tests.orders import shop


@dataclass(frozen=True)
class Reading:
    """One question to one query. ``function`` is the query that the question is about."""

    function: Callable[..., Any]
    asked: Callable[[World], Any]
    given: Any
    says: str = ""

    def __str__(self) -> str:
        return " ".join(filter(None, (self.function.__module__.split(".")[-1], self.function.__name__, self.says)))


def of_all(*names: str) -> list[str]:
    """The names in every household, oldest household first."""
    return [f"{whose}.{name}" for whose in HOUSEHOLDS for name in names]


def newest_first(*names: str) -> list[str]:
    return [f"{whose}.{name}" for whose in reversed(HOUSEHOLDS) for name in names]


def _search(**wanted: Any) -> Callable[[World], Any]:
    return lambda w: frames.stock_page(frames.FrameSearch(**wanted))


def _trail(name: str, **wanted: str) -> Callable[[World], Any]:
    """Whose patient (or whose verb) each event of the page is about."""

    def ask(w: World) -> set[str]:
        people = {key: w[value] for key, value in wanted.items() if key != "verb"}
        search = audit.AuditSearch(**people, verb=wanted.get("verb", ""))
        return {str(getattr(event, name)) for event in audit.audit_page(search, size=500).rows}

    return ask


def _like(**asked: Any) -> Callable[[World], Any]:
    def ask(w: World) -> Any:
        ours = w["patient"]
        names = ("family_name", "given_names", "born_on", "phone")
        known = {name: getattr(ours, name) for name in names}
        if asked.get("apart_from"):
            known["apart_from"] = ours
        return duplicates.possible_duplicates(**known | {name: asked[name] for name in names if name in asked})

    return ask


def _page(size: int, number: int = 1) -> Callable[[World], Any]:
    def ask(w: World) -> Any:
        page = finding.find("", size=size).page
        for _ in range(number - 1):
            page = finding.find("", after=page.next_key, size=size).page
        return page

    return ask


def _looked_at(w: World) -> tuple[int, bool]:
    """How many drafts are open with the lab, and whether its own catalogue in use is what it is looked at beside."""
    look = catalogue_looks.look_at(w["old_catalogue"])
    return look.drafts, look.beside == w["catalogue"]


def _all_pages(w: World) -> list[str]:
    """The orders, four a page, from the first page to the last."""
    seen, key = [], ""
    while True:
        page = paging.page_of(Order.objects.all(), order=("-pk",), after=key, size=4)
        assert page.first is (key == "")
        seen += w.names_of(page.rows)
        key = page.next_key
        if not key:
            return seen


def _after_the_first_of_ours(w: World) -> list[str]:
    """By a key that names nothing but a row, here the first order of ours."""
    ours = Order.objects.filter(patient=w["patient"])
    first = w["ours.draft"]
    key = base64.urlsafe_b64encode(f"[{first.pk}]".encode()).decode().rstrip("=")
    rows = paging.page_by_row(ours, Order.objects.all(), order=("-pk",), after=key).rows
    assert first not in rows
    return [w.name_of(first), *w.names_of(rows)]


RECORDS = ("prescriptions", "worn_pairs", "fittings", "own_frames")


def _record_of_ours(w: World) -> dict[str, list[str]]:
    row = patients.with_record().get(pk=w["patient"].pk)
    return {name: w.names_of(getattr(row, name).all()) for name in RECORDS} | {
        "scans": [w.name_of(scan) for given in row.prescriptions.all() for scan in given.scans.all()]
    }


def _worn(whose: str, use: str, days: int = 0) -> Callable[[World], Any]:
    return lambda w: worn_pairs.worn_now(w[whose], use, timezone.localdate() - timedelta(days=days))


def _board(**wanted: Any) -> Callable[[World], Any]:
    def ask(w: World) -> Any:
        named = {"lab": str(w[wanted["lab"]].public_id)} if "lab" in wanted else {}
        return sorted_board(orders.BoardFilter(**{**wanted, **named}))

    return ask


def _here(w: World) -> bool:
    """In each household one pair is to be told of, one is ready, and of one the lab asks; ours is ready for a week."""
    for whose in HOUSEHOLDS:
        for name, place in (("revision", Place.TO_TELL), ("amended", Place.READY), ("sent", Place.QUERY_OPEN)):
            days = 8 if (whose, name) == ("ours", "amended") else 0
            since = timezone.now() - timedelta(days=days)
            Order.objects.filter(pk=w[f"{whose}.{name}"].pk).update(place=str(place), place_since=since)
    return True


def _noted(w: World) -> bool:
    """A note on a draft of each household."""
    for whose in HOUSEHOLDS:
        events.record_event(order=w[f"{whose}.draft"], kind=EventKind.NOTE, actor=w["dora"], note=whose)
    return True


def _words_of_calls(w: World) -> list[str]:
    return [event.note for event in desk_queries.calls_of(w["patient"])]


def _whole_order(w: World) -> dict[str, Any]:
    order = orders.for_page().get(pk=w["sent"].pk)
    documents = list(order.documents.all())
    return {
        "documents": [document.number for document in documents] == [order.number],
        "deliveries": w.names_of(documents[0].deliveries.all()),
        "eyes": [eye.sphere for eye in there(order.prescription).eyes.all()],
        "events": {str(event.actor) for event in order.events.all()},
        "figures": len(there(order.fitting).measurements.all()),
    }


def _marks(w: World) -> dict[str, list[tuple[str, bool, bool]]]:
    late = {row.pk: (row.is_late, row.delivery_trouble) for row in orders.filtered(orders.BoardFilter())}
    return {name: [(f"{whose}.{name}", *late[w[f"{whose}.{name}"].pk]) for whose in HOUSEHOLDS] for name in ("sent",)}


def _before_one_of_the_same_day(w: World) -> Any:
    given = w["prescription"]
    shop.prescription(w["patient"], tested_on=given.tested_on)
    return prescriptions.prescription_before(w["patient"], given.tested_on, given)


def _offered(kind: str) -> Callable[[World], Any]:
    return lambda w: list(getattr(Offered.to(w["draft"]), kind).values())


ORDERS = (
    "draft",
    "next_revision",
    "amended",
    "troubled",
    "cancelled",
    "sent_and_cancelled",
    "revision",
    "superseded",
    "sent",
)
"""A household's orders, newest first."""
FOR_DISTANCE = ["prescription", "earlier_prescription", "first_prescription"]
MEASURINGS = ["measuring_in_own", "measuring"]

READINGS: tuple[Reading, ...] = (
    # The audit trail
    Reading(audit.audit_page, _trail("patient", patient="ours.patient"), {"P-90002"}, "of a patient"),
    Reading(audit.audit_page, _trail("actor", person="ours.worker"), {"Ours Worker"}, "of a person"),
    Reading(audit.audit_page, _trail("verb", verb="order.cancel"), {"order.cancel"}, "of a verb"),
    Reading(
        audit.audit_page,
        _trail("verb", patient="ours.patient", person="elder.worker"),
        set(),
        "of our patient by their worker",
    ),
    Reading(
        audit.audit_events,
        lambda w: {str(event.patient) for event in audit.audit_events(audit.AuditSearch(patient=w["patient"]))},
        {"P-90002"},
    ),
    Reading(
        audit.people_on_record,
        lambda w: [person.username for person in audit.people_on_record()],
        [
            "dana",
            "dora",
            "elder-lab-user",
            "elder-worker",
            "ines",
            "ours-lab-user",
            "ours-worker",
            "ravi",
            "younger-lab-user",
            "younger-worker",
        ],
    ),
    # Patients
    Reading(duplicates.possible_duplicates, _like(), ["patient", "namesake"], "of the same day"),
    Reading(duplicates.possible_duplicates, _like(apart_from=True), ["namesake"], "apart from the patient"),
    Reading(
        duplicates.possible_duplicates, _like(born_on=date(1900, 1, 1)), ["patient", "namesake"], "of the same phone"
    ),
    Reading(
        duplicates.possible_duplicates,
        _like(born_on=date(1900, 1, 1), phone="01632 960999"),
        ["namesake", "patient"],
        "of the same name only",
    ),
    Reading(
        duplicates.possible_duplicates, _like(born_on=date(1900, 1, 1), family_name="Abelson"), [], "of another family"
    ),
    Reading(finding.find, lambda w: finding.find("lindqvist").page, ["patient", "namesake"], "by name"),
    Reading(finding.find, lambda w: finding.find("lindq P-90002").page, ["patient"], "by two words"),
    Reading(finding.patients_told_by, lambda w: finding.patients_told_by("lindq P-90002"), ["patient"], "by two words"),
    Reading(finding.find, lambda w: finding.find("lindqvost").near, ["patient", "namesake"], "by a misspelt name"),
    Reading(finding.find, lambda w: finding.find("2 April 1985").page, ["patient"], "by birth date"),
    Reading(finding.find, lambda w: finding.find("01632 960222").page, ["patient"], "by phone"),
    Reading(finding.find, lambda w: finding.find("lindqvist petra").page, [], "by two people's names"),
    Reading(finding.find, _page(2), ["elder.patient", "patient"], "first page"),
    Reading(finding.find, _page(2, 2), ["namesake", "younger.patient"], "next page"),
    Reading(finding.find, _page(3, 2), ["younger.patient"], "last page"),
    Reading(
        paging.every_row,
        lambda w: list(paging.every_row(Order.objects.filter(patient=w["patient"]), order=("-pk",), size=2)),
        list(ORDERS),
    ),
    Reading(patients.last_worked_on, lambda w: patients.last_worked_on(w["worker"]), ["patient"]),
    Reading(patients.last_worked_on, lambda w: patients.last_worked_on(w["dora"]), [], "of somebody idle"),
    Reading(
        patients.with_record,
        _record_of_ours,
        {
            "prescriptions": ["ours.near_prescription", *(f"ours.{name}" for name in FOR_DISTANCE)],
            "fittings": ["ours.fitting", "ours.fitting_in_own"],
            "own_frames": ["ours.own_frame"],
            "worn_pairs": ["ours.readers", "ours.worn_pair", "ours.old_pair"],
            "scans": ["ours.scan"],
        },
    ),
    # Pairs worn now
    Reading(
        worn_pairs.with_eyes,
        lambda w: [eye.sphere for eye in worn_pairs.with_eyes().get(pk=w["worn_pair"].pk).eyes.all()],
        [-2.25, -2.25],
    ),
    Reading(waiting.waiting_now, lambda w: waiting.waiting_now(), of_all("wait")),
    Reading(waiting.wait_of, lambda w: [waiting.wait_of(w["patient"])], ["wait"]),
    Reading(worn_pairs.worn_now, _worn("patient", "distance"), ["worn_pair"], "for the distance"),
    Reading(worn_pairs.worn_now, _worn("patient", "distance_and_near"), ["worn_pair"], "for both"),
    Reading(worn_pairs.worn_now, _worn("patient", "near"), ["readers"], "for near"),
    Reading(worn_pairs.worn_now, _worn("patient", "intermediate"), ["readers"], "for what no pair is for"),
    Reading(worn_pairs.worn_now, _worn("patient", "distance", days=20), ["worn_pair"], "before the readers were read"),
    Reading(worn_pairs.worn_now, _worn("patient", "distance", days=100), [], "between two readings"),
    Reading(worn_pairs.worn_now, _worn("namesake", "distance"), [], "of who has none"),
    Reading(papers.paper_to_take_in, lambda w: [papers.paper_to_take_in(w["patient"])], ["paper"]),
    Reading(
        papers.paper_named,
        lambda w: [papers.paper_named(w["patient"], str(w["paper"].public_id))],
        ["paper"],
    ),
    Reading(
        papers.paper_named,
        lambda w: [papers.paper_named(w["patient"], str(w["elder.paper"].public_id))],
        [None],
        "of another patient",
    ),
    Reading(papers.papers_of, lambda w: papers.papers_of(w["near_prescription"]), ["read_scan"]),
    # Prescriptions
    Reading(prescriptions.known_prescribers, lambda w: prescriptions.known_prescribers(), ["B. Prescriber"]),
    Reading(
        prescriptions.ending,
        lambda w: prescriptions.ending(date.today(), date.today() + timedelta(days=2000)).order_by("pk"),
        ["prescription", "near_prescription"],
        "of who agreed, the newest of each use alone",
    ),
    Reading(
        prescriptions.ending_unasked,
        lambda w: [prescriptions.ending_unasked(date.today(), date.today() + timedelta(days=2000))],
        [2],
        "of who was not asked, and not of who said no",
    ),
    Reading(
        prescriptions.with_lines,
        lambda w: [eye.sphere for eye in prescriptions.with_lines().get(pk=w["prescription"].pk).eyes.all()],
        [-2.25, -2.25],
    ),
    Reading(
        prescriptions.prescriptions_of_a_day,
        lambda w: prescriptions.prescriptions_of_a_day(w["patient"], w["prescription"].tested_on, "distance"),
        ["prescription"],
    ),
    Reading(
        prescriptions.prescription_before,
        lambda w: prescriptions.prescription_before(w["patient"], w["prescription"].tested_on),
        ["prescription"],
        "on or before a day",
    ),
    Reading(
        prescriptions.prescription_before,
        lambda w: prescriptions.prescription_before(w["patient"], None),
        ["near_prescription"],
        "of all",
    ),
    Reading(
        prescriptions.prescription_before,
        lambda w: prescriptions.prescription_before(w["patient"], w["prescription"].tested_on, w["prescription"]),
        ["earlier_prescription"],
        "before one",
    ),
    Reading(
        prescriptions.prescription_before,
        _before_one_of_the_same_day,
        ["earlier_prescription"],
        "before one, with another taken in later that day",
    ),
    Reading(
        prescriptions.prescription_before,
        lambda w: prescriptions.prescription_before(w["namesake"], None),
        [],
        "of a patient without",
    ),
    Reading(
        prescribed_powers.horizontal_powers,
        lambda w: prescribed_powers.horizontal_powers(w["patient"]),
        {"right": -2.25, "left": -2.25},
    ),
    Reading(
        prescribed_powers.horizontal_powers,
        lambda w: prescribed_powers.horizontal_powers(w["namesake"]),
        {},
        "of a patient without",
    ),
    Reading(
        facts.previous_prescription,
        lambda w: facts.previous_prescription(w["prescription"]),
        ["earlier_prescription"],
        "of the latest",
    ),
    Reading(
        facts.previous_prescription,
        lambda w: facts.previous_prescription(w["first_prescription"]),
        [],
        "of the first",
    ),
    Reading(
        facts.previous_prescription,
        lambda w: facts.previous_prescription(w["near_prescription"]),
        [],
        "of one for near",
    ),
    # Frames and fittings
    Reading(frames.stock_page, _search(), of_all("frame"), "all"),
    Reading(frames.stock_page, _search(withdrawn=True), of_all("frame", "withdrawn_frame"), "with those withdrawn"),
    Reading(frames.stock_page, _search(text="ours"), ["frame"], "by colour"),
    Reading(frames.stock_page, _search(text="48-19 s-ours"), ["frame"], "by size and stock number"),
    Reading(frames.stock_page, _search(text="48-20"), [], "by a size that none has"),
    Reading(frames.stock_page, _search(mount="drilled"), [], "by a mount that none has"),
    Reading(frames.stock, lambda w: frames.stock(frames.FrameSearch(text="alder younger")), ["younger.frame"]),
    Reading(
        orders.lenses_ordered_lately,
        lambda w: {
            whose: sum(lens == (w[f"{whose}.lab"].pk, "sv", "m160") for lens in orders.lenses_ordered_lately())
            for whose in HOUSEHOLDS
        },
        dict.fromkeys(HOUSEHOLDS, 2 * 7),  # seven orders each that were not cancelled, for two eyes
    ),
    Reading(orders.frames_to_choose_from, lambda w: orders.frames_to_choose_from(), of_all("frame")),
    Reading(frames.own_frames, lambda w: frames.own_frames(w["patient"]), ["own_frame"]),
    Reading(
        fittings.fittings,
        lambda w: [
            (w.name_of(row.frame), w.name_of(row.patient), len(row.measurements.all()))
            for row in fittings.fittings().filter(pk=w["fitting"].pk)
        ],
        [("ours.frame", "ours.patient", 9)],
    ),
    Reading(fittings.other_fittings, lambda w: fittings.other_fittings(w["fitting"]), ["fitting_in_own"]),
    Reading(
        fittings.face_form_of,
        lambda w: w.name_of(there(fittings.face_form_of(w["frame"])).fitting),
        "ours.fitting",
    ),
    Reading(
        fittings.last_pds_of,
        lambda w: {(eye, w.name_of(row.fitting)) for eye, row in fittings.last_pds_of(w["patient"]).items()},
        {("right", "ours.fitting"), ("left", "ours.fitting")},
    ),
    Reading(fittings.last_pds_of, lambda w: fittings.last_pds_of(w["namesake"]), {}, "of a patient never measured"),
    Reading(
        fittings.history_of,
        lambda w: {event.verb for event in fittings.history_of(w["fitting"].public_id)},
        {"fitting.of-ours"},
    ),
    Reading(fittings.history_of, lambda w: fittings.history_of(w["frame"].public_id), [], "of another kind of record"),
    # Measuring from photos
    Reading(
        photo_fittings.photo_measurings,
        lambda w: photo_fittings.photo_measurings().get(pk=w["measuring"].pk).photos.all(),
        ["front_of_measuring", "side_of_measuring"],
    ),
    Reading(
        photo_fittings.unfinished_measurings,
        lambda w: photo_fittings.unfinished_measurings(),
        newest_first(*MEASURINGS),
        "all",
    ),
    Reading(
        photo_fittings.unfinished_measurings,
        lambda w: [(w.name_of(row), row.photo_count) for row in photo_fittings.unfinished_measurings(w["patient"])],
        [("ours.measuring_in_own", 2), ("ours.measuring", 2)],
        "of a patient",
    ),
    Reading(
        photo_fittings.unfinished_measurings,
        lambda w: photo_fittings.unfinished_measurings(w["patient"], w["frame"]),
        ["measuring"],
        "of a patient in a frame",
    ),
    Reading(
        photo_fittings.unfinished_measurings,
        lambda w: photo_fittings.unfinished_measurings(frame=w["own_frame"]),
        ["measuring_in_own"],
        "in a frame",
    ),
    Reading(
        photo_fittings.photos_with_measuring,
        lambda w: photo_fittings.photos_with_measuring().get(pk=w["front_of_measuring"].pk).measuring,
        ["measuring"],
    ),
    Reading(photo_fittings.face_form_of, lambda w: photo_fittings.face_form_of(w["patient"], w["frame"]), 4.0),
    Reading(
        photo_fittings.face_form_of,
        lambda w: photo_fittings.face_form_of(w["patient"], w["own_frame"]),
        4.5,
        "in another frame",
    ),
    Reading(
        photo_fittings.face_form_of,
        lambda w: photo_fittings.face_form_of(w["namesake"], w["frame"]),
        [],
        "of a patient without",
    ),
    # What the practice decided
    Reading(
        limits.practice_limits,
        lambda w: {rule: dict(values) for rule, values in limits.practice_limits().values.items()},
        {"power-step-and-range": {"sphere_max_d": 5.0, "cylinder_max_d": 5.0}},
    ),
    Reading(
        limits.limits_in_force,
        lambda w: [limits.limits_in_force().of("power-step-and-range", name) for name in ("sphere_max_d", "step_d")],
        [5.0, 0.25],
    ),
    Reading(
        photo_fittings.latest_by_hand, lambda w: photo_fittings.latest_by_hand(w["patient"], w["frame"]), ["fitting"]
    ),
    Reading(
        photo_fittings.latest_by_hand,
        lambda w: photo_fittings.latest_by_hand(w["namesake"], w["frame"]),
        [],
        "of a patient without",
    ),
    Reading(
        photo_fittings.latest_by_hand,
        lambda w: photo_fittings.latest_by_hand(w["patient"], w["younger.frame"]),
        [],
        "in a frame not worn",
    ),
    # Staff
    Reading(
        staff.staff_members,
        lambda w: [(member.username, member.tokens) for member in staff.staff_members()],
        [
            ("ravi", 0),
            ("ines", 0),
            ("dana", 0),
            ("dora", 0),
            ("elder-worker", 1),
            ("ours-worker", 1),
            ("younger-worker", 1),
        ],
    ),
    Reading(
        staff.at_work,
        lambda w: {member.username for member in staff.at_work()},
        {"dana", "dora", "ines", "ravi", "elder-worker", "ours-worker", "younger-worker"},
    ),
    Reading(
        staff.measuring_staff,
        lambda w: {member.username for member in staff.measuring_staff()},
        {"dana", "ravi", "ines", "elder-worker", "ours-worker", "younger-worker"},
    ),
    Reading(
        protection.registered_people,
        lambda w: {member.username for member in protection.registered_people()},
        {"ravi", "ines"},
    ),
    Reading(
        protection.why_protected, lambda w: protection.why_protected(w["patient"], date(2001, 4, 1)), "is 15 years old"
    ),
    Reading(
        protection.why_protected, lambda w: protection.why_protected(w["patient"], date(2001, 4, 2)), "", "grown up"
    ),
    Reading(second_factors.factors_of, lambda w: str(second_factors.factors_of(w["worker"])), "an authenticator app"),
    Reading(
        second_factors.factors_of,
        lambda w: str(second_factors.factors_of(w["ravi"])),
        "",
        "of somebody who has none, beside those who have one",
    ),
    Reading(sessions.sessions_of, lambda w: sessions.sessions_of(w["worker"]), ["session"]),
    Reading(staff.tokens_of, lambda w: staff.tokens_of(w["worker"]), ["token_of_worker"]),
    # Orders
    Reading(sorted_board, _board(), newest_first(*ORDERS), "all"),
    Reading(sorted_board, _board(lab="lab"), list(ORDERS), "of a lab"),
    Reading(
        sorted_board,
        _board(state="cancelled"),
        newest_first("cancelled", "sent_and_cancelled"),
        "by state",
    ),
    Reading(sorted_board, _board(place="draft"), newest_first("draft", "next_revision"), "by place"),
    Reading(sorted_board, _board(late=True), newest_first("troubled"), "late"),
    Reading(sorted_board, _board(unsent=True), newest_first("troubled"), "that did not reach the lab"),
    Reading(sorted_board, _board(unsent=True, lab="lab"), ["troubled"], "of a lab that did not reach it"),
    Reading(sorted_board, _board(text="lindqvist"), list(ORDERS), "by the patient's name"),
    Reading(sorted_board, _board(text="lindqvist", state="superseded"), ["superseded"], "by name and state"),
    Reading(
        orders.filtered,
        lambda w: orders.filtered(orders.BoardFilter(text=w["sent"].number)),
        ["sent"],
        "by number",
    ),
    Reading(orders.filtered, _marks, {"sent": [(f"{whose}.sent", False, False) for whose in HOUSEHOLDS]}, "marks"),
    Reading(
        orders.filtered,
        lambda w: [
            (w.name_of(row), row.is_late, row.delivery_trouble)
            for row in orders.filtered(orders.BoardFilter(text="lindqvist"))
            .filter(sent_at__isnull=False)
            .order_by("-pk")
        ],
        [("ours.amended", False, False), ("ours.troubled", True, True)]
        + [(f"ours.{name}", False, False) for name in ("sent_and_cancelled", "revision", "superseded", "sent")],
        "which are marked",
    ),
    Reading(
        orders.late_before,
        lambda w: Order.objects.filter(orders.late_before(w["draft"].needed_on)).order_by("-pk"),
        newest_first("troubled"),
    ),
    Reading(
        orders.place_counts,
        lambda w: {place: (count.orders, count.late) for place, count in orders.place_counts().items() if count.orders},
        {"draft": (6, 0), "at the lab": (3, 3), "sent": (9, 0)},
    ),
    Reading(orders.orders_of, lambda w: orders.orders_of(w["patient"]), list(ORDERS)),
    Reading(orders.orders_of, lambda w: orders.orders_of(w["namesake"]), [], "of a patient without"),
    Reading(
        orders.for_desk,
        lambda w: [
            (w.name_of(row.patient), w.name_of(there(row.lab)), w.name_of(there(row.fitting).frame))
            for row in orders.for_desk().filter(pk=w["draft"].pk)
        ],
        [("ours.patient", "ours.lab", "ours.frame")],
    ),
    Reading(
        orders.for_page,
        _whole_order,
        {
            "documents": True,
            "deliveries": ["ours.delivery"],
            "eyes": [-2.25, -2.25],
            "events": {"Dana Okafor", "Ours Worker"},
            "figures": 9,
        },
    ),
    Reading(orders.successor_of, lambda w: orders.successor_of(w["superseded"]), ["revision"]),
    Reading(orders.successor_of, lambda w: orders.successor_of(w["revision"]), [], "of the last revision"),
    Reading(orders.successor_of, lambda w: orders.successor_of(w["sent"]), [], "of an order never revised"),
    Reading(orders.finished_readings, lambda w: orders.finished_readings(w["sent"]), ["finished_reading"]),
    Reading(orders.finished_readings, lambda w: orders.finished_readings(w["revision"]), [], "of a pair not read yet"),
    Reading(orders.order_of_number, lambda w: [orders.order_of_number(f" {w['sent'].number.lower()} ")], ["sent"]),
    Reading(
        orders.order_of_number,
        lambda w: [orders.order_of_number(w["superseded"].number)],
        ["revision"],
        "the newest revision that was sent",
    ),
    Reading(orders.order_of_number, lambda w: orders.order_of_number("D-99999"), [], "of no order"),
    Reading(
        board_queries.whole_board,
        lambda w: list(board_queries.whole_board(orders.BoardFilter(text="lindqvist", unfinished=True), "-needed")),
        ["draft", "next_revision", "amended", "revision", "sent", "troubled"],
    ),
    Reading(desk_queries.calls_of, lambda w: _noted(w) and _words_of_calls(w), ["ours"]),
    Reading(
        desk_queries.at_the_counter,
        lambda w: _here(w) and desk_queries.at_the_counter("lindqvist"),
        ["amended", "revision"],
    ),
    Reading(desk_queries.to_tell, lambda w: _here(w) and desk_queries.to_tell(), of_all("revision")),
    Reading(desk_queries.questions, lambda w: _here(w) and desk_queries.questions(), of_all("sent")),
    Reading(desk_queries.to_collect, lambda w: _here(w) and desk_queries.to_collect(7), ["amended"]),
    Reading(
        desk_queries.waiting_at,
        lambda w: _here(w) and list(desk_queries.waiting_at(Place.READY)),
        ["amended", "elder.amended", "younger.amended"],
    ),
    Reading(desk_queries.uncollected, lambda w: _here(w) and list(desk_queries.uncollected(7)), ["amended"]),
    Reading(
        desk_queries.uncollected_counts,
        lambda w: _here(w) and desk_queries.uncollected_counts(),
        {0: 3, 7: 1, 14: 0, 30: 0},
    ),
    Reading(orders.orders_of_number, lambda w: orders.orders_of_number(w["sent"].number[-3:]), ["sent"]),
    Reading(orders.last_instrument, lambda w: orders.last_instrument(w["worker"]), "Bench of ours"),
    Reading(orders.last_instrument, lambda w: orders.last_instrument(w["ines"]), "", "of somebody who read nothing"),
    Reading(orders.tolerances_in_force, lambda w: orders.tolerances_in_force().id, "iso-21987-2017"),
    Reading(finished_pairs.standing, lambda w: [finished_pairs.standing(w["sent"]).reading], ["finished_reading"]),
    Reading(
        finished_pairs.standing, lambda w: finished_pairs.standing(w["revision"]).reading, [], "of a pair not read"
    ),
    Reading(orders.latest_lab, lambda w: orders.latest_lab(), ["younger.lab"]),
    Reading(
        orders.labs,
        lambda w: [(w.name_of(lab), str(lab.catalogue_issued_on)) for lab in orders.labs().order_by("pk")],
        [("closed_lab", "2026-11-01"), *((f"{whose}.lab", CATALOGUES[whose]) for whose in HOUSEHOLDS)],
    ),
    Reading(orders.tokens_of_lab, lambda w: orders.tokens_of_lab(w["lab"]), ["token_of_lab_user"]),
    Reading(
        orders.orders_of_lab,
        lambda w: orders.orders_of_lab(w["lab_user"]),
        ["amended", "troubled", "sent_and_cancelled", "revision", "superseded", "sent"],
    ),
    Reading(
        sorted_board,
        _board(waiting=True),
        newest_first("amended", "revision", "sent"),
        "that has not left",
    ),
    Reading(
        sorted_board,
        _board(waiting=True, lab="lab"),
        ["amended", "revision", "sent"],
        "of a lab, not left",
    ),
    Reading(sorted_board, _board(promise=True), [], "past a promised day"),
    Reading(sorted_board, _board(unacknowledged=True), [], "withdrawn and not acknowledged"),
    Reading(
        judging.other_orders,
        lambda w: (
            {order.number for order in judging.other_orders(w["draft"])}
            == {w[name].number for name in ("sent", "revision", "amended", "troubled")}
        ),
        True,
    ),
    Reading(
        judging.other_orders,
        lambda w: (
            {order.number for order in judging.other_orders(w["sent"])}
            == {w[name].number for name in ("revision", "amended", "troubled")}
        ),
        True,
        "apart from the order itself",
    ),
    Reading(orders.lab_named, lambda w: orders.lab_named(" lab of OURS "), ["lab"]),
    Reading(orders.catalogues_of, lambda w: orders.catalogues_of(w["lab"]), ["catalogue", "old_catalogue"]),
    Reading(orders.open_drafts_of, lambda w: orders.open_drafts_of(w["lab"]), ["draft", "next_revision"]),
    Reading(catalogue_looks.look_at, _looked_at, (2, True)),
    Reading(catalogues.open_doubts, lambda w: catalogues.open_doubts(w["old_catalogue"], w["catalogue"]), ()),
    Reading(drafts.catalogue_in_use, lambda w: drafts.catalogue_in_use(w["lab"]), ["catalogue"]),
    Reading(Offered.to, _offered("prescriptions"), ["near_prescription", *FOR_DISTANCE], "prescriptions"),
    Reading(Offered.to, _offered("fittings"), ["fitting", "fitting_in_own"], "fittings"),
    Reading(Offered.to, _offered("labs"), of_all("lab"), "labs"),
    Reading(paging.page_by_row, _after_the_first_of_ours, [f"ours.{name}" for name in ORDERS]),
    Reading(paging.page_of, _all_pages, [f"{whose}.{name}" for whose in reversed(HOUSEHOLDS) for name in ORDERS]),
)

NO_SCOPE: dict[Callable[..., Any], str] = {
    audit.audit_events: "is what a page of the trail is cut from, which is asked above",
    finding.has_part: "asks of whatever it is put to",
    finding.near_words: "reads words, which are nobody's alone",
    photo_fittings.measured_from: "works on the photos of the measuring that it is given",
    photo_fittings.points_in_hand: "works on the photos of the measuring that it is given",
    photo_fittings.next_unmarked: "works on the photos of the measuring that it is given",
    photo_fittings.photo_facts: "works on the photo that it is given",
    photo_fittings.frame_facts: "works on the frame that it is given",
    protection.is_registered: "works on the person that it is given",
    orders.asked_by: "is a condition, tried with the board and at the counter",
    orders.late_soon: "is a condition, tried with the board",
    orders.delayed: "is a condition, tried with the board",
    orders.in_trouble: "is a condition, tried with the board",
    board_queries.sort_named: "reads no rows",
    board_queries.can_be_sorted: "reads no rows",
    orders.price_list_in_use: "reads the practice's own prices, which are about no patient",
    orders.price_lists: "reads the practice's own prices, which are about no patient",
    orders.catalogues_in_use: "reads what labs publish, which is nobody's record",
}
"""Public functions of the queries that read no rows of their own, each with the reason."""
