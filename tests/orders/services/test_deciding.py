"""What becomes of a finished pair: accepted, with a concession or not, returned, our own mistake; and its remake."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, transaction
from django.utils import timezone

from dispensing.documents import of_values
from dispensing.models import Practice
from orders.documents.finished_pair import FinishedReadings
from orders.models import Decision, Order
from orders.progress import CannotHappen, EventKind
from orders.services.deciding import accept, decide, note_event
from orders.services.errors import NotAsOrdered, NotReady, NotRegistered
from orders.services.finished_pairs import record_reading
from orders.services.handing_over import put_in_tray
from orders.services.judging import judge
from orders.services.lifting import lift
from orders.services.permitted import NotTheirs
from orders.services.remakes import start_remake
from orders.services.sending import send_order
from tests.orders import shop
from tests.people import person

pytestmark = pytest.mark.django_db

AXIS = {"cause": "axis", "reason": "Left axis 8, ordered 15"}
TYPED = {"cause": "entry", "reason": "We typed 15 for 51"}


def decided(order: Order, kind: str, **told: Any) -> tuple[Any, Order | None]:
    return decide(order=order, actor=person("ravi"), kind=EventKind(kind), **told)


def came_in(**fields: Any) -> Order:
    return shop.brought_to("in, to be checked", shop.draft(**fields))


def place(order: Order) -> str:
    return Order.objects.get(pk=order.pk).place


def test_a_concession_names_who_allows_it_why_and_that_the_patient_agrees() -> None:
    order, bystander = came_in(), came_in()
    event, remake = decided(order, "conceded", **AXIS, allowed_by=person("ines"), patient_told=True)
    row = Decision.objects.get()
    assert (row.event, row.cause, row.whose, row.reason) == (event, "axis", "lab", AXIS["reason"])
    assert (row.allowed_by, row.patient_told, remake) == (person("ines"), True, None)
    assert (place(order), place(bystander)) == ("checked, patient not told", "in, to be checked")


@pytest.mark.parametrize(
    ("kind", "told", "field", "says"),
    [
        ("conceded", AXIS, "allowed_by", "Name who allows it."),
        ("returned", {"cause": "", "reason": "Wrong"}, "cause", "Choose what is wrong with the pair."),
        ("returned", {"cause": "axis", "reason": " "}, "reason", "Say what was found, in a sentence."),
        ("returned", {"cause": "entry", "reason": "x"}, "cause", "what was ordered wrongly is our own mistake"),
        ("our mistake", {"cause": "flaw", "reason": "x"}, "cause", "the lab made the pair as ordered"),
    ],
)
def test_a_decision_says_what_it_has_to_say_or_is_not_made(
    kind: str, told: dict[str, str], field: str, says: str
) -> None:
    order = came_in()
    with pytest.raises(ValidationError) as refused:
        decided(order, kind, **told)
    assert list(refused.value.message_dict) == [field]
    assert says in refused.value.message_dict[field][0]
    assert (place(order), Decision.objects.count(), order.remakes.count()) == ("in, to be checked", 0, 0)


def test_a_returned_pair_goes_on_under_its_own_number_unless_it_is_ordered_again() -> None:
    order, again = came_in(), came_in()
    _, nothing = decided(order, "returned", **AXIS)
    _, remake = decided(again, "returned", **AXIS, order_again=True)
    assert nothing is None
    assert order.remakes.count() == 0
    assert remake is not None
    assert (remake.remake_of, remake.remake_cause, remake.remake_whose) == (again, "axis", "lab")
    assert remake.remarks == AXIS["reason"]
    assert place(order) == place(again) == "returned to the lab"


def test_a_pair_that_goes_back_leaves_its_tray_and_one_to_be_made_again_stays_in_it() -> None:
    returned, ours = came_in(), came_in()
    for order, tray in ((returned, "A1"), (ours, "A2")):
        put_in_tray(order=order, actor=person("dora"), tray=tray)
    decided(returned, "returned", **AXIS)
    decided(ours, "our mistake", **TYPED)
    assert [Order.objects.get(pk=order.pk).tray for order in (returned, ours)] == ["", "A2"]


def test_our_own_mistake_always_begins_a_remake_that_says_so() -> None:
    order = came_in(remarks="Match the old pair")
    _, remake = decided(order, "our mistake", **TYPED)
    assert remake is not None
    assert (remake.purpose, remake.remake_of, remake.remake_cause, remake.remake_whose) == (
        "remake",
        order,
        "entry",
        "practice",
    )
    assert (remake.lenses, remake.fitting, remake.prescription) == (order.lenses, order.fitting, order.prescription)
    assert remake.needed_on is None
    assert place(order) == "to be made again"


def test_what_cannot_follow_is_not_decided_and_begins_nothing() -> None:
    order = shop.brought_to("at the lab")
    with pytest.raises(CannotHappen):
        decided(order, "our mistake", **TYPED)
    assert Decision.objects.count() == Order.objects.exclude(pk=order.pk).count() == 0


def test_only_a_registered_person_accepts_a_protected_patients_pair_with_or_without_a_concession() -> None:
    order = came_in(patient=shop.patient(sight_impaired=True))
    with pytest.raises(NotRegistered):
        decide(order=order, actor=shop.dispenser(), kind=EventKind.CONCEDED, **AXIS, allowed_by=person("ines"))  # type: ignore[arg-type]  # one table of texts
    with pytest.raises(NotRegistered):
        accept(order=order, actor=shop.dispenser())
    assert place(order) == "in, to be checked"
    assert accept(order=order, actor=shop.dispenser(), registered=person("ravi")).registered == person("ravi")


@pytest.mark.parametrize("kind", ["conceded", "returned", "our mistake"])
def test_no_service_takes_a_decision_from_the_front_desk(kind: str) -> None:
    order, other = came_in(), came_in()
    with pytest.raises(NotTheirs, match="a dispenser or a manager makes it"):
        decide(order=order, actor=person("dora"), kind=EventKind(kind), **AXIS)  # type: ignore[arg-type]  # one table of texts
    with pytest.raises(NotTheirs):
        accept(order=order, actor=person("dora"))
    assert (place(order), place(other)) == ("in, to be checked", "in, to be checked")


def test_a_decision_is_never_changed() -> None:
    decided(came_in(), "returned", **AXIS)
    with pytest.raises(DatabaseError, match="make another"), transaction.atomic():
        Decision.objects.update(cause="power")
    assert Decision.objects.get().cause == "axis"


# What the readings say


def read(power: float, **inspected: Any) -> Order:
    """A pair that was sent and came in, its right lens read as ``power``; −2.25 was ordered."""
    order = shop.draft()
    send_order(order=order, actor=shop.dispenser(), version=1)
    order.documents.get().deliveries.update(state="sent")
    eyes = {"right": {"sphere": power, "pd_mm": 32.0}, "left": {"sphere": -2.0, "pd_mm": 31.5}}
    found = of_values(FinishedReadings, {"format": "finished-readings/1", **eyes})
    record_reading(order=Order.objects.get(pk=order.pk), actor=person("ravi"), readings=found, inspection=inspected)
    return Order.objects.get(pk=order.pk)


def test_a_pair_read_as_ordered_is_accepted() -> None:
    order = read(-2.25)
    accept(order=order, actor=person("ravi"))
    assert place(order) == "checked, patient not told"


@pytest.mark.parametrize("order", [lambda: read(-2.75), lambda: read(-2.25, surface={"found": "defect", "words": "x"})])
def test_a_pair_that_is_not_as_ordered_is_accepted_with_a_concession_only(order: Any) -> None:
    pair = order()
    for act in (accept, lambda **told: note_event(kind=EventKind.PASSED, **told)):
        with pytest.raises(NotAsOrdered, match="Read it again, or accept it with a concession"):
            act(order=pair, actor=person("ravi"))
    assert place(pair) == "in, to be checked"
    decided(pair, "conceded", cause="power", reason="Half a step off", allowed_by=person("ines"))
    assert place(pair) == "checked, patient not told"


def test_a_pair_that_a_second_person_is_to_read_is_not_accepted_before() -> None:
    Practice.current()
    Practice.objects.update(second_reader_for=["protected"])
    child = shop.patient(born_on=timezone.localdate() - timedelta(days=3000))
    order = shop.draft(patient=child, registered=person("ravi"))
    send_order(order=settled(order), actor=shop.dispenser(), version=Order.objects.get(pk=order.pk).version)
    order.documents.get().deliveries.update(state="sent")
    eyes = {"right": {"sphere": -2.25, "pd_mm": 32.0}, "left": {"sphere": -2.0, "pd_mm": 31.5}}
    found = of_values(FinishedReadings, {"format": "finished-readings/1", **eyes})
    first = record_reading(order=Order.objects.get(pk=order.pk), actor=person("ravi"), readings=found)
    order = Order.objects.get(pk=order.pk)
    with pytest.raises(NotAsOrdered, match="A second person reads this pair before it is accepted"):
        accept(order=order, actor=person("ravi"))
    with pytest.raises(NotAsOrdered):
        decided(order, "conceded", cause="flaw", reason="A mark", allowed_by=person("ines"))
    record_reading(order=order, actor=person("ines"), readings=found, second_of=first)
    accept(order=order, actor=person("ravi"))
    assert place(order) == "checked, patient not told"


# Remakes


def settled(order: Order) -> Order:
    """The remake with all that the check asks confirmed."""
    Order.objects.filter(pk=order.pk).update(needed_on=timezone.localdate() + timedelta(days=14))
    order.refresh_from_db()
    for part in judge(order).open_findings:
        version = order.version
        lift(order=order, actor=shop.dispenser(), version=version, rule=part.rule, eye=part.eye, reason="As before")
        order.refresh_from_db()
    return order


def test_a_remake_is_begun_once() -> None:
    order = came_in()
    begun = start_remake(first=order, actor=person("ravi"), cause="flaw", whose="lab", said="Scratched")
    with pytest.raises(ValidationError, match=f"{begun.number} is already being drawn up as the remake"):
        start_remake(first=order, actor=person("ravi"), cause="flaw", whose="lab", said="Scratched")
    assert order.remakes.count() == 1


@pytest.mark.parametrize(("cause", "whose"), [("", "lab"), ("flaw", ""), ("", "")])
def test_a_remake_without_a_cause_or_without_whose_it_was_is_not_begun(cause: str, whose: str) -> None:
    order = came_in()
    with pytest.raises(ValidationError) as refused:
        start_remake(first=order, actor=person("ravi"), cause=cause, whose=whose, said="Scratched")
    assert set(refused.value.message_dict) == {name for name, said in (("cause", cause), ("whose", whose)) if not said}
    assert order.remakes.count() == 0


@pytest.mark.parametrize("unsaid", ["remake_cause", "remake_whose"])
def test_a_remake_made_one_at_the_desk_is_not_sent_before_it_says_why(unsaid: str) -> None:
    first = came_in()
    fields = {"purpose": "remake", "remake_of": first, "remake_cause": "flaw", "remake_whose": "lab"}
    remake = shop.draft(patient=first.patient, remarks="Scratched", **fields | {unsaid: ""})
    with pytest.raises(NotReady, match="choose its cause and whose it was"):
        send_order(order=remake, actor=shop.dispenser(), version=1)
    assert Order.objects.get(pk=remake.pk).state == "draft"


@pytest.mark.parametrize(
    ("was", "becomes"),
    [
        ("to be made again", "made again"),
        ("returned to the lab", "made again"),
        ("handed over", "made again"),
        ("at the lab", "at the lab"),
    ],
)
def test_sending_the_remake_counts_the_first_pair_as_made_again_if_it_had_come_to_that(was: str, becomes: str) -> None:
    first, bystander = shop.brought_to(was), shop.brought_to(was)
    remake = start_remake(first=first, actor=person("ravi"), cause="flaw", whose="lab", said="Scratched")
    assert place(first) == was
    remake = settled(remake)
    send_order(order=remake, actor=shop.dispenser(), version=remake.version)
    assert (place(first), place(bystander)) == (becomes, was)
    assert list(first.events.filter(kind="remade").values_list("note", flat=True)) == (
        [f"As order {remake.number}"] if becomes == "made again" else []
    )
