"""What the dispensing record's pages show about orders, fetched here because that app knows nothing about orders."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from django import template
from django.utils import timezone

from dispensing.access import abilities_of
from dispensing.models import Patient
from orders.delivery_states import WAITS_FOR_A_PERSON, Step, may
from orders.delivery_states import waits_too_long as too_long
from orders.desk_queries import calls_of
from orders.documents.order_report import FindingPart
from orders.finished_queries import follow_ups_due
from orders.models import Delivery, FinishedReading, HandOver, Lab, Notice, Order, OrderEvent
from orders.models.deliveries import Channel
from orders.notice_queries import not_left, notices_of
from orders.presentation.board import open_tabs
from orders.presentation.desk_day import call_in_words
from orders.presentation.findings import FindingsShown, findings_shown
from orders.presentation.finished_words import verdict_level, verdict_reasons
from orders.presentation.next_step import Waiting, waiting
from orders.presentation.places import Place, place_of
from orders.presentation.standards import standard_title
from orders.presentation.ways import Wait, all_waits, quiet_waits, where
from orders.progress import EventKind
from orders.queries import orders_of, place_counts
from orders.sending.by_hand import BY_PEOPLE
from orders.services.deliveries import holds
from orders.services.notices import WAYS, kinds_for
from orders.services.ways_out import way_of, ways_of
from orders.stuck import stuck
from orders.verification.inspection import Point, defects

if TYPE_CHECKING:
    from orders.queries import MarkedOrder

register = template.Library()
MOST_ON_A_PAGE = 20


@register.simple_tag
def orders_of_patient(patient: Patient) -> Sequence[Order]:
    """The patient's newest orders, with their frames."""
    return list(orders_of(patient).select_related("lab", "frame")[:MOST_ON_A_PAGE])


@register.simple_tag
def calls_to(patient: Patient) -> Sequence[OrderEvent]:
    """The last calls to a patient and notes on their orders."""
    return calls_of(patient)


@register.simple_tag(takes_context=True)
def waiting_order(context: Mapping[str, Any], orders: Sequence[Order]) -> Waiting | None:
    """The one of a patient's orders that this person can go on with, if one waits for the practice."""
    return waiting(orders, abilities_of(context["request"].user))


@register.simple_tag
def wearers_to_ask() -> Sequence[HandOver]:
    """Who should have been asked by now how a first progressive goes, longest overdue first."""
    return list(follow_ups_due(timezone.localdate())[:MOST_ON_A_PAGE])


@register.simple_tag
def open_orders() -> dict[str, Any]:
    """Where the open orders are, how many are late, and what is stuck on its way to a lab, or under way."""
    counts, found = place_counts(), stuck()
    late, soon = (sum(getattr(count, name) for count in counts.values()) for name in ("late", "soon"))
    return {
        "tabs": open_tabs(counts),
        "late": late,
        "soon": soon,
        "waits": all_waits(found),
        "quiet": quiet_waits(found),
    }


@register.simple_tag
def stuck_anywhere() -> list[Wait]:
    """What is stuck between the practice and its labs."""
    return all_waits(stuck())


@register.filter
def whereabouts(order: MarkedOrder) -> str:
    """Where an order or its pair is; it is never “Sent” before it has left."""
    return where(order)


@register.filter
def shown_first(findings: Sequence[FindingPart]) -> FindingsShown:
    """The findings, with those that are answered together grouped, and the worst of them first."""
    return findings_shown(findings)


@register.simple_tag(takes_context=True)
def may_go(context: Mapping[str, Any], place: Place | None) -> str:
    """The address of a place, if there is one and the person signed in may change things there."""
    ability = str(place.ability).replace(".", "_") if place else ""
    return place.href if place and context["may"][ability] else ""


@register.simple_tag(takes_context=True)
def field_of(context: Mapping[str, Any], finding: FindingPart) -> str:
    """The address of the field that a finding about the order on this page is about; empty if there is none."""
    return may_go(context, place_of(finding.field, context["order"]))


register.filter("standard_title", standard_title)
register.filter("verdict_level", verdict_level)
register.filter("verdict_reasons", verdict_reasons)


@register.filter
def defects_of(reading: FinishedReading) -> list[tuple[Point, str]]:
    """What is wrong with lens or frame, each with the words written about it."""
    return list(defects(reading.inspection))


@register.filter
def event_word(event: OrderEvent) -> str:
    """What happened, in a word. That an order was sent by a person does not say that it has left."""
    return "Signed off to be sent" if event.kind == EventKind.SENT else str(event.kind).capitalize()


register.filter("call_words", call_in_words)


@register.filter
def waits_too_long(order: MarkedOrder) -> bool:
    """Whether the order should have left by now."""
    since = order.way_since
    return bool(order.way_state and since and too_long(order.way_state, since, timezone.now()))


@register.filter
def waits_for_a_person(delivery: Delivery) -> bool:
    """Whether the delivery failed, or nobody knows whether it arrived."""
    return delivery.state in WAITS_FOR_A_PERSON


@register.filter
def notice_way(channel: str) -> str:
    """By what a notice goes, in words."""
    return WAYS[Channel(channel)]


@register.simple_tag
def notices_of_order(order: Order) -> Sequence[Notice]:
    return notices_of(order)


@register.simple_tag
def notices_not_left() -> int:
    """How many wait for somebody: they failed, or nobody knows whether they arrived."""
    return not_left()


@register.simple_tag
def can_be_told(order: Order) -> bool:
    """Whether there is anything to tell the patient about the order now."""
    return bool(kinds_for(order))


@register.filter
def steps_by_hand(delivery: Delivery) -> set[str]:
    """What a person can now do with the delivery."""
    in_force = holds(delivery, delivery.document.order)
    by_hand = {Step.RETRY, Step.HOLD_BACK, Step.SETTLE, Step.REROUTE}
    if delivery.channel in BY_PEOPLE:
        by_hand.add(Step.CARRY)
    return {step.value for step in by_hand if may(delivery.state, step, in_force=in_force)}


@register.filter
def other_ways(delivery: Delivery) -> list[tuple[str, str]]:
    """The ways set up for the lab besides this one: code and words."""
    lab = delivery.document.order.lab
    return [(way.value, way.label) for way in ways_of(lab) if way != delivery.channel] if lab else []


@register.filter
def way_words(lab: Lab) -> str:
    """By which way orders go to the lab, and where to."""
    way, address = way_of(lab)
    return f"{way.label}, {address}" if address else str(way.label)
