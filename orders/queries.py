"""Lists of orders: the board by place with counts and late marks, one order with everything related to it; and labs.

This module only reads. Each list is one query, however long it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, TypedDict

from django.db.models import (
    BooleanField,
    Case,
    Count,
    F,
    OuterRef,
    Prefetch,
    Q,
    QuerySet,
    Subquery,
    Value,
    When,
)
from django.db.models.lookups import Exact
from django.utils import timezone

from dispensing.models import Frame, Patient, Practice, SerialNumber, StaffUser, TokenDetail
from dispensing.queries.finding import IN_ORDER, patients_told_by
from dispensing.queries.limits import practice_limits
from dispensing.trade.tolerances import ToleranceSet, tolerance_set
from orders.delivery_states import OPEN, WAITS_FOR_A_PERSON, DeliveryState
from orders.models import Catalogue, Delivery, FinishedReading, Lab, Order, OrderDocument, OrderEvent, PriceList
from orders.models.deliveries import Channel, Message
from orders.order_numbers import may_be_number, numbers_meant
from orders.progress import BY_THE_LAB, PROMISES, TO_COME, UNFINISHED, EventKind, Place
from orders.states import OrderState
from orders.stuck import of_an_order_that_matters, promise_past, unacknowledged

MOST_PEOPLE = 500
EVENT_PARTS = ("actor", "registered", "decision__allowed_by", "hand_over", "aftercare", "lab_word")
"""What is shown of an event."""

# The places at which a pair can be late: not those where it is here, checked and waiting, or will never come. They are
# named one by one, not as all but the others, because an index finds what is and reads past what is not.
PLACES_OF_LATENESS = [str(place) for place in UNFINISHED if place not in (Place.READY, Place.DRAFT)]


if TYPE_CHECKING:
    from django_stubs_ext import WithAnnotations

    class Marks(TypedDict):
        is_late: bool
        is_soon_late: bool
        delivery_trouble: bool
        promise_past: bool
        way_state: str | None
        way_channel: str | None
        way_since: datetime | None
        way_next_try: datetime | None

    class CatalogueDay(TypedDict):
        catalogue_issued_on: date | None

    MarkedOrder = WithAnnotations[Order, Marks]
    DatedLab = WithAnnotations[Lab, CatalogueDay]


@dataclass(frozen=True)
class BoardFilter:
    """What a person asked the board to show; an empty value does not filter."""

    place: str = ""
    state: str = ""
    lab: str = ""
    dispenser: str = ""
    unfinished: bool = False
    late: bool = False
    soon: bool = False
    delayed: bool = False
    unsent: bool = False
    waiting: bool = False
    promise: bool = False
    unacknowledged: bool = False
    text: str = ""


@dataclass(frozen=True)
class PlaceCount:
    place: str
    orders: int
    late: int
    soon: int = 0


def filtered(wanted: BoardFilter, today: date | None = None) -> QuerySet[MarkedOrder]:
    """The orders asked for, each marked as `_marked` says, neither sorted nor paged."""
    today = today or timezone.localdate()
    return _marked(_filtered(wanted, today), today)


def late_before(today: date) -> Q:
    """Needed before today and not ready yet."""
    return Q(needed_on__lt=today, place__in=PLACES_OF_LATENESS)


def late_soon(today: date) -> Q:
    """Still to come from the lab, needed from today on, and expected too late, or expected before today."""
    to_come = Q(place__in=[str(place) for place in TO_COME], needed_on__gte=today)
    return to_come & (Q(expected_on__gt=F("needed_on")) | Q(expected_on__lt=today))


def place_counts(today: date | None = None) -> dict[str, PlaceCount]:
    """The number of orders at each place where a pair is still to be finished, and how many are or will be late.

    It reads only those orders, however many are finished.
    """
    rows = Order.objects.order_by().filter(place__in=[str(place) for place in UNFINISHED]).values("place")
    today = today or timezone.localdate()
    late, soon = Count("pk", filter=late_before(today)), Count("pk", filter=late_soon(today))
    found = {row["place"]: PlaceCount(**row) for row in rows.annotate(orders=Count("pk"), late=late, soon=soon)}
    return {str(place): found.get(str(place), PlaceCount(str(place), 0, 0)) for place in UNFINISHED}


def orders_of(patient: Patient) -> QuerySet[MarkedOrder]:
    """The patient's orders, newest first."""
    return _marked(Order.objects.filter(patient=patient), timezone.localdate()).select_related("lab").order_by("-pk")


def for_desk() -> QuerySet[Order]:
    """Orders with what a change to a draft reads; the chosen records are read with those on offer."""
    return Order.objects.select_related(
        "patient", "prescription", "frame", "fitting__frame", "lab", "catalogue", "remake_of", "registered"
    )


def for_page() -> QuerySet[MarkedOrder]:
    """Orders with everything that a page, the check and the document read from them."""
    to_labs = Delivery.objects.exclude(message=Message.NOTICE)
    deliveries = to_labs.prefetch_related("attempts__actor").order_by("pk")
    rows = _marked(for_desk(), timezone.localdate()).select_related("saved_by", "sent_by")
    return rows.prefetch_related(
        "prescription__eyes",
        "fitting__measurements",
        Prefetch("events", queryset=OrderEvent.objects.select_related(*EVENT_PARTS).order_by("pk")),
        # Leave out the PDF, which is fetched when somebody asks for it.
        Prefetch("documents", queryset=OrderDocument.objects.defer("pdf", "report")),
        Prefetch("documents__deliveries", queryset=deliveries),
    )


def successor_of(order: Order) -> Order | None:
    """The newest later revision with the same number that was not cancelled."""
    later = Order.objects.filter(number=order.number, revision__gt=order.revision)
    return later.exclude(state=OrderState.CANCELLED).order_by("-revision").first()


def tolerances_in_force(standard: str = "") -> ToleranceSet:
    """The limits for finished pairs here: the practice's standard, or the one named, with its own stricter figures."""
    name = standard or Practice.current().tolerance_standard
    return tolerance_set(name).tightened(practice_limits().values.get(name, {}))


def finished_readings(order: Order) -> QuerySet[FinishedReading]:
    """Every reading of the finished pair, newest first, with who read it and the photos of defects."""
    rows = FinishedReading.objects.filter(order=order).select_related("read_by", "second_of")
    return rows.prefetch_related("photos").order_by("-pk")


def last_instrument(person: StaffUser) -> str:
    """What this person last read a finished pair with; empty if nothing was named yet."""
    rows = FinishedReading.objects.filter(read_by=person).exclude(instrument="").order_by("-pk")
    return rows.values_list("instrument", flat=True).first() or ""


def orders_of_number(text: str) -> list[Order]:
    """The orders that a number means, typed, said or scanned: of each number its newest revision that was sent."""
    found: dict[str, Order] = {}
    if not may_be_number(text):
        return []
    for order in Order.objects.filter(number__in=numbers_meant(text, _prefixes())).order_by("revision"):
        if order.sent_at is not None or order.number not in found:
            found[order.number] = order
    return [found[number] for number in sorted(found)]


def order_of_number(text: str) -> Order | None:
    """The one order that a number means; None if it means none, or several."""
    found = orders_of_number(text)
    return found[0] if len(found) == 1 else None


def _prefixes() -> list[str]:
    """What order numbers here begin with, and began with before somebody changed it."""
    series = SerialNumber.objects.filter(series__startswith=f"{Order._meta.label_lower}.number ")
    used = {name.split(" ", 1)[1] for name in series.values_list("series", flat=True)}
    return sorted(used | {Practice.current().order_prefix})


def latest_lab() -> Lab | None:
    """The lab that the last order went to, else the first lab that takes orders."""
    last = Order.objects.filter(lab__active=True).select_related("lab").order_by("-pk").first()
    return last.lab if last else Lab.objects.filter(active=True).first()


def lab_named(name: str) -> Lab | None:
    """The lab of this name, in capitals or not."""
    return Lab.objects.filter(name__iexact=name.strip()).first()


def labs() -> QuerySet[DatedLab]:
    """All labs, each with the day its catalogue in use was issued (``catalogue_issued_on``)."""
    in_use = Catalogue.objects.filter(lab=OuterRef("pk"), in_use=True).values("issued_on")[:1]
    return Lab.objects.annotate(catalogue_issued_on=Subquery(in_use))


def catalogues_in_use() -> list[Catalogue]:
    """The catalogue of each lab that takes orders, with the lab, by the labs' names."""
    return list(Catalogue.objects.filter(in_use=True, lab__active=True).select_related("lab").order_by("lab__name"))


def lenses_ordered_lately(count: int = 200) -> list[tuple[int, str, str]]:
    """Lab, design and material of each lens of the last orders that were not cancelled, newest first."""
    standing = Order.objects.exclude(lab=None).exclude(state=OrderState.CANCELLED)
    last = standing.order_by("-pk").values_list("lab_id", "lenses")[:count]
    return [
        (lab, lens["design"], lens["material"])
        for lab, lenses in last
        for lens in (lenses or {}).values()
        if lens and lens.get("design") and lens.get("material")
    ]


def frames_to_choose_from() -> list[Frame]:
    """Every frame of the practice's own that is in stock and still offered, by its model."""
    return list(Frame.objects.filter(owner=None, in_stock__gt=0, withdrawn=False).order_by("model", "pk"))


def catalogues_of(lab: Lab) -> QuerySet[Catalogue]:
    """All catalogues of a lab: the one in use, then those that were in use, the last first, then the others."""
    last_used = F("used_at").desc(nulls_last=True)
    return lab.catalogues.select_related("imported_by").defer("text").order_by("-in_use", last_used, "-pk")


def price_list_in_use() -> PriceList | None:
    """The practice's own price list, if it has one."""
    return PriceList.objects.filter(in_use=True).first()


def price_lists() -> QuerySet[PriceList]:
    """All price lists: the one in use, then those that were in use, the last first, then the others."""
    last_used = F("used_at").desc(nulls_last=True)
    return PriceList.objects.select_related("loaded_by").defer("text").order_by("-in_use", last_used, "-pk")


def open_drafts_of(lab: Lab) -> list[Order]:
    """The drafts that are to go to a lab, newest first, with what the check reads of them."""
    drafts = for_desk().filter(lab=lab, state=OrderState.DRAFT).order_by("-pk")
    return list(drafts.prefetch_related("prescription__eyes", "fitting__measurements"))


def tokens_of_lab(lab: Lab) -> QuerySet[TokenDetail]:
    """The lab's API tokens, newest first."""
    tokens = TokenDetail.objects.filter(token__user__lab_user__lab=lab)
    return tokens.select_related("token").order_by("-token__created")


def orders_of_lab(user: StaffUser) -> QuerySet[Order]:
    """The orders sent to the lab whose API user this is, with what the two said to each other (``turns``).

    What is held back before the lab has fetched it is not there for it.
    """
    held_back = Delivery.objects.filter(channel=Channel.API, state=DeliveryState.WITHHELD, message=Message.ORDER)
    said = OrderEvent.objects.filter(kind__in=(*BY_THE_LAB, EventKind.ANSWER)).select_related("lab_word")
    sent = Order.objects.exclude(sent_at=None).exclude(state=OrderState.DRAFT).filter(lab__users__user=user)
    mine = sent.exclude(state=OrderState.SENT, documents__deliveries__in=held_back)
    return mine.prefetch_related(Prefetch("events", queryset=said.order_by("pk"), to_attr="turns"))


def _filtered(wanted: BoardFilter, today: date) -> QuerySet[Order]:
    rows = Order.objects.all()
    if wanted.place:
        rows = rows.filter(place=wanted.place)
    if wanted.state:
        rows = rows.filter(state=wanted.state)
    if wanted.lab:
        rows = rows.filter(lab__public_id=wanted.lab)
    if wanted.dispenser:
        sent, begun = Q(sent_by__username=wanted.dispenser), Q(created_by__username=wanted.dispenser, sent_by=None)
        rows = rows.filter(sent | begun)
    if wanted.unfinished:
        rows = rows.filter(place__in=[str(place) for place in UNFINISHED])
    if wanted.late:
        rows = rows.filter(late_before(today))
    if wanted.soon:
        rows = rows.filter(late_soon(today))
    if wanted.delayed:
        rows = rows.filter(delayed())
    if wanted.unsent:
        rows = rows.filter(in_trouble())
    if wanted.waiting:
        rows = rows.filter(_has_delivery(~Q(message=Message.NOTICE), state__in=OPEN))
    if wanted.promise:
        rows = rows.filter(promise_past(timezone.now()))
    if wanted.unacknowledged:
        rows = rows.filter(pk__in=unacknowledged().values("pk"))
    return rows.filter(asked_by(wanted.text)) if wanted.text.strip() else rows


def asked_by(text: str) -> Q:
    """Orders by a number, which then is all that is meant, by the tray a pair lies in, or by what is known of a person.

    Of very many people of one name only the first `MOST_PEOPLE` are looked for: an order is found by an index.
    """
    tray = Q(tray=text.strip().upper())
    numbered = Order.objects.filter(number__in=numbers_meant(text, _prefixes())) if may_be_number(text) else None
    if numbered is not None and numbered.exists():
        return Q(pk__in=numbered.values("pk")) | tray
    people = patients_told_by(text).order_by(*IN_ORDER).values_list("pk", flat=True)[:MOST_PEOPLE]
    return Q(patient__in=list(people)) | tray


def delayed() -> Q:
    """Still to come, and what the lab last said of the day is that it is late."""
    # The last word, and not whether there is such a word: PostgreSQL would look for that among the words of all orders.
    of_days = OrderEvent.objects.filter(order=OuterRef("pk"), kind__in=(*PROMISES, EventKind.RETURNED))
    last = Subquery(of_days.order_by("-pk").values("kind")[:1])
    return Q(Exact(last, Value(EventKind.DELAYED.value)), place__in=[str(place) for place in TO_COME])


def in_trouble() -> Q:
    """Something for the lab failed, or may not have arrived."""
    return _has_delivery(of_an_order_that_matters(), state__in=WAITS_FOR_A_PERSON)


def _has_delivery(*also: Q, **wanted: object) -> Q:
    return Q(pk__in=Delivery.objects.filter(*also, **wanted).values("document__order_id"))


def _marked(rows: QuerySet[Order], today: date) -> QuerySet[MarkedOrder]:
    """Each order with ``is_late``, ``is_soon_late``, ``promise_past`` (of its lab), ``delivery_trouble`` and how the
    order itself goes out: ``way_state``, ``way_channel``, ``way_since`` (queued) and ``way_next_try`` of its newest
    delivery, None if it has none.
    """

    def mark(condition: Q) -> Case:
        return Case(When(condition, then=Value(True)), default=Value(False), output_field=BooleanField())

    newest = Delivery.objects.filter(document__order=OuterRef("pk"), message=Message.ORDER).order_by("-pk")
    return rows.annotate(
        is_late=mark(late_before(today)),
        is_soon_late=mark(late_soon(today)),
        delivery_trouble=mark(in_trouble()),
        promise_past=mark(promise_past(timezone.now())),
        way_state=Subquery(newest.values("state")[:1]),
        way_channel=Subquery(newest.values("channel")[:1]),
        way_since=Subquery(newest.values("queued_at")[:1]),
        way_next_try=Subquery(newest.values("next_try_at")[:1]),
    )
