"""The pages of notices: read before they leave, sent by one press, listed; and the practice's own words judged."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

from dispensing.models import AuditEvent, Patient
from orders.forms.notices import words_name
from orders.models import Delivery, Notice, NoticeSettings, Order
from orders.notices.wording import PARTS, USUAL, Kind
from tests.orders import shop
from tests.people import signed_in

pytestmark = pytest.mark.django_db

SETTINGS: dict[str, Any] = {
    "quiet_from": "20:00",
    "quiet_until": "08:00",
    "quiet_days": ["6"],
    "automatic": [],
    "remind_after": "14",
    **{words_name(kind, part): USUAL[kind][part] for kind in Kind for part in PARTS},
}


def ready(reference: str = "P-90001", family_name: str = "Lindqvist") -> Order:
    patient = shop.patient(reference, family_name=family_name)
    Patient.objects.filter(pk=patient.pk).update(email=f"{family_name}@x.invalid", notices_by_email=True)
    order = shop.brought_to("checked, patient not told", shop.draft(patient=Patient.objects.get(pk=patient.pk)))
    shop.delivery(order, state="sent")
    practice = shop.practice()
    type(practice).objects.update(phone="01632 960100")
    return order


def write(order: Order, **posted: str) -> Any:
    client, address = signed_in("dora"), reverse("order-notice", args=[order.public_id])
    return client.post(address, posted, follow=True) if posted else client.get(address)


def test_the_notice_is_read_before_one_press_sends_it() -> None:
    order, other = ready(), ready("P-90002", "Abelson")
    page = write(order)
    html = page.content.decode()
    assert f"your spectacles (order {order.number}) are ready to be collected." in html
    assert "Lindqvist@x.invalid" in html
    assert "The patient has not agreed to be told by text message." in html
    assert Notice.objects.count() == 0
    key = str(page.context["kinds"][0]["key"])
    for _ in range(2):
        answer = write(order, kind="ready", channel="email", key=key).content.decode()
        assert "waits to leave by e-mail" in answer
    notice = Notice.objects.get()
    assert (notice.patient, notice.delivery.address) == (order.patient, "Lindqvist@x.invalid")
    assert "Told to the patient" in answer
    listed = signed_in("dora").get(reverse("notice-list")).content.decode()
    assert order.number in listed
    assert other.number not in listed


@pytest.mark.either_database
@pytest.mark.parametrize(
    ("posted", "says"),
    [
        ({"kind": "ready", "channel": "sms", "key": "a" * 32}, "has not agreed to be told by text message"),
        ({"kind": "reminder", "channel": "email", "key": "a" * 32}, "would not be true"),
        ({"kind": "moon", "channel": "email", "key": "a" * 32}, "Choose one of the notices below"),
        ({"kind": "ready", "channel": "email"}, "Choose one of the notices below"),
        ({"kind": "ready", "channel": "folder", "key": "a" * 32}, "Choose one of the notices below"),
    ],
)
def test_what_cannot_be_sent_is_said_and_is_not(posted: dict[str, str], says: str) -> None:
    order = ready()
    html = write(order, **posted).content.decode()
    assert "Nothing was sent." in html
    assert says in html
    assert Notice.objects.count() == 0


def test_one_that_waits_can_be_held_back_and_is_listed_as_not_left() -> None:
    order = ready()
    write(order, kind="ready", channel="email", key="a" * 32)
    client, notice = signed_in("dora"), Notice.objects.get()
    assert "Every notice left" in client.get(reverse("notice-list"), {"show": "stuck"}).content.decode()
    assert "this is the first." in client.get(reverse("notice-list"), {"after": "moon"}).content.decode()

    def press(does: str) -> str:
        answer = client.post(reverse("notice-change", args=[notice.delivery.public_id]), {"does": does}, follow=True)
        assert answer.status_code == 200
        return Delivery.objects.get(pk=notice.delivery_id).state

    assert (press("moon"), press("again"), press("stop")) == ("queued", "queued", "withheld")
    Delivery.objects.filter(pk=notice.delivery_id).update(state="unknown")
    assert "1 notice to patients did not leave" in client.get(reverse("home")).content.decode()
    assert press("otherwise") == "withheld"
    assert "to patients did not leave" not in client.get(reverse("home")).content.decode()
    assert order.number in client.get(reverse("notice-list"), {"show": "stuck"}).content.decode()


def change(**posted: Any) -> Any:
    client = signed_in("ines")
    version = client.get(reverse("notice-settings")).context["version"]
    return client.post(reverse("notice-settings"), {**SETTINGS, "version": version, **posted}, follow=True)


def test_our_own_words_are_used_and_the_trail_says_who_changed_them() -> None:
    order = ready()
    assert "The notices are saved." in change(ready_mail="Come and see, {given_name}!").content.decode()
    assert "Come and see, Åsa!" in write(order).content.decode()
    trail = AuditEvent.objects.get(verb="notices.change")
    assert "Come and see" in str(trail.changes["words"][1])
    assert list(trail.changes) == ["words"]
    assert "The notices are saved." in change(ready_mail="Come and see, {given_name}!").content.decode()
    assert AuditEvent.objects.filter(verb="notices.change").count() == 1


@pytest.mark.either_database
@pytest.mark.parametrize(
    ("posted", "field", "says"),
    [
        (
            {"ready_text": "For {patient}"},
            "ready_text",
            "There is no placeholder {patient} here. There are: {given_name},",
        ),
        ({"reminder_mail": "{new_day}"}, "reminder_mail", "There is no placeholder {new_day} here."),
        ({"delayed_subject": ""}, "delayed_subject", "Write what is to be said."),
        ({"ready_mail": "Your −2.25 waits"}, "ready_mail", "looks like a power"),
        ({"quiet_days": list("0123456")}, "quiet_days", "no notice would ever leave"),
        ({"remind_after": "0"}, "remind_after", "greater than or equal to 1"),
        ({"remind_after": "91"}, "remind_after", "less than or equal to 90"),
        ({"automatic": ["moon"]}, "automatic", "moon"),
        ({"quiet_from": "late"}, "quiet_from", "Write the hour and minute, as in 20:00."),
        ({"quiet_until": ""}, "quiet_until", "Write the hour and minute, as in 20:00."),
    ],
)
def test_what_is_wrong_is_said_beside_its_field_and_nothing_is_saved(
    posted: dict[str, Any], field: str, says: str
) -> None:
    before = NoticeSettings.current()
    answer = change(**posted)
    assert list(answer.context["form"].errors) == [field]
    assert says in str(answer.context["form"].errors[field])
    after = NoticeSettings.objects.get(pk=1)
    assert (after.version, after.words, after.quiet_days) == (before.version, before.words, before.quiet_days)
