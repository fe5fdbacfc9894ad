"""Taking in a prescription: what is refused and beside which field, what is asked, and what is kept."""

from __future__ import annotations

import re
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from dispensing.models import AuditEvent, Patient, Practice, Prescription
from dispensing.presentation.prescriptions import rows_of
from tests.builders import a_patient, a_prescription
from tests.known import there
from tests.orders import shop
from tests.people import Answer, signed_in

pytestmark = pytest.mark.django_db

FACTS = {
    "tested_on": "30.10.2026",
    "use": "distance_and_near",
    "source": "written",
    "prescriber": "T. Prescriber",
}
EYES = {
    "right-sphere": "-3.25",
    "right-cylinder": "-1.00",
    "right-axis": "170",
    "right-add": "2.00",
    "left-sphere": "−2,75",
    "left-cylinder": "-0.50",
    "left-axis": "10",
    "left-add": "+2.00",
}


@pytest.fixture
def patient() -> Patient:
    return a_patient(born_on=timezone.localdate() - timedelta(days=58 * 365))


@pytest.fixture(autouse=True)
def _after_the_test_date(monkeypatch: pytest.MonkeyPatch) -> None:
    from datetime import date

    monkeypatch.setattr("django.utils.timezone.localdate", lambda *args, **kwargs: date(2026, 11, 25))


def send(patient: Patient, **changes: Any) -> Answer:
    typed = FACTS | EYES | {name.replace("__", "-"): value for name, value in changes.items()}
    return signed_in("dora").post(f"/patients/{patient.public_id}/prescriptions/new/", typed)


def entry(patient: Patient, **changes: Any) -> tuple[Any, ...]:
    answer = send(patient, **changes)
    assert answer.status_code == 200, "It was taken in."
    assert not Prescription.objects.exists()
    return answer.context["entry"], answer.content.decode()


def faults(form: Any, field: str) -> str:
    return " ".join(str(fault) for fault in form.errors.get(field, []))


def test_a_whole_prescription_is_taken_in_as_written(patient: Patient) -> None:
    assert send(patient).status_code == 302
    prescription = Prescription.objects.get()
    right, left = prescription.right, prescription.left
    assert (there(right).sphere, there(right).cylinder, there(right).axis, there(right).add) == (
        Decimal("-3.25"),
        Decimal("-1.00"),
        170,
        Decimal("2.00"),
    )
    assert (there(left).sphere, there(left).axis) == (Decimal("-2.75"), 10)
    assert prescription.prescriber == "T. Prescriber"
    assert AuditEvent.objects.filter(verb="prescription.record", patient=patient).count() == 1


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("sphere", "2.50", "sign is missing"),
        ("sphere", "250", "decimal point missing"),
        ("sphere", "-250", "decimal point missing"),
        ("sphere", "minus", "cannot be read"),
        ("sphere", "", "sphere is missing"),
        ("cylinder", "1.00", "sign is missing"),
        ("cylinder", "", "no cylinder"),
        ("axis", "181", "1 to 180"),
        ("axis", "17.5", "1 to 180"),
        ("axis", "-5", "1 to 180"),
        ("axis", "", "needs its axis"),
        ("add", "-2.00", "plus power"),
        ("prism_horizontal_base", "in", "prism_horizontal: no prism"),
        ("prism_horizontal", "2", "prism_horizontal_base: needs its base"),
        ("prism_vertical", "2", "prism_vertical_base: needs its base"),
        ("prism_vertical", "-2", "0 to 40"),
        ("prism_vertical", "NaN", "cannot be read"),
        ("prism_vertical", "1e1", "cannot be read"),
    ],
)
def test_a_field_that_cannot_be_so_is_told_beside_it_and_keeps_what_was_typed(
    patient: Patient, field: str, typed: str, says: str
) -> None:
    found, shown = entry(patient, **{f"right__{field}": typed})
    where, _, words = says.rpartition(": ")
    assert words in faults(found.right, where or field)
    assert f'id="id_right-{where or field}_error"' in shown
    assert not typed or f'value="{typed}"' in shown


def test_unsigned_noughts_and_plano_need_no_sign(patient: Patient) -> None:
    changes = {"right__sphere": "plano", "left__sphere": "0"}
    for eye in ("right", "left"):
        changes |= {f"{eye}__cylinder": "", f"{eye}__axis": ""}
    assert send(patient, **changes).status_code == 302
    assert there(Prescription.objects.get().right).sphere == 0


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("tested_on", "26.11.2026", "in the future"),
        ("tested_on", "1.1.1900", "before the patient was born"),
        ("tested_on", "", "date of the test"),
        ("expires_on", "29.10.2026", "before the date of the test"),
        ("use", "", "what it is for"),
        ("prescriber", "", "who prescribed"),
        ("vertex_mm", "120", "5 to 25 mm"),
    ],
)
def test_facts_that_cannot_be_are_told_beside_their_field(patient: Patient, field: str, typed: str, says: str) -> None:
    found, _ = entry(patient, **{field: typed})
    assert says in faults(found.facts, field)


def test_opposite_cylinder_signs_are_refused_and_the_other_form_is_offered(patient: Patient) -> None:
    found, _ = entry(patient, left__sphere="-3.25", left__cylinder="+0.50", left__axis="100")
    assert "the left would be −2.75 / −0.50 x 10" in faults(found.left, "cylinder")


def test_one_eye_is_turned_into_the_form_of_the_other(patient: Patient) -> None:
    typed = FACTS | EYES | {"left-sphere": "-3.25", "left-cylinder": "+0.50", "left-axis": "100", "turn": "left"}
    answer = signed_in("dora").post(f"/patients/{patient.public_id}/prescriptions/read/", typed)
    left = answer.context["entry"].left
    assert [left["sphere"].value(), left["cylinder"].value(), left["axis"].value()] == ["-2.75", "-0.50", "10"]


def test_an_eye_that_is_not_whole_is_not_turned_but_stays_as_typed(patient: Patient) -> None:
    typed = FACTS | EYES | {"left-sphere": "3.25", "turn": "left"}
    answer = signed_in("dora").post(f"/patients/{patient.public_id}/prescriptions/read/", typed)
    assert answer.context["entry"].left["sphere"].value() == "3.25"


QUESTIONS = [
    ({"right__sphere": "-3.12"}, "not a quarter step"),
    ({"right__sphere": "-24.00"}, "beyond 20 D"),
    ({"left__add": ""}, "Only the right eye has an add"),
    ({"left__add": "2.25"}, "The adds differ"),
    ({"right__add": "0.25", "left__add": "0.25"}, "is unusual"),
    ({"right__sphere": "+3.25"}, "One eye is plus"),
    ({"right__sphere": "-27.50", "right__cylinder": "", "right__axis": ""}, "One sphere is ten times the other"),
    ({"right__acuity": "66"}, "is on no chart"),
    ({"right__intermediate_add": "2.00"}, "intermediate add is not smaller"),
    ({"right__acuity": "1.0"}, "as a decimal it is 6/6, in logMAR 6/60"),
    ({"left__sphere": "", "left__cylinder": "", "left__axis": "", "left__add": ""}, "Nothing is written for the left"),
    (
        {"right__prism_vertical": "2", "right__prism_vertical_base": "up"}
        | {"left__prism_vertical": "2", "left__prism_vertical_base": "up"},
        "Both eyes have base up",
    ),
]


@pytest.mark.parametrize(("changes", "asks"), QUESTIONS, ids=[asks for _, asks in QUESTIONS])
def test_what_is_unusual_is_asked_and_taken_in_once_it_is_ticked(
    patient: Patient, changes: dict[str, Any], asks: str
) -> None:
    found, _ = entry(patient, **changes)
    assert any(asks in remark.message for remark in found.open_questions)
    ticks = [remark.key for remark in found.open_questions]
    assert send(patient, **changes, confirmed=ticks).status_code == 302


def mirrored(text: str) -> str:
    return re.sub(r"(?:right|left)(?![?]| out| now)", lambda eye: {"right": "left", "left": "right"}[eye[0]], text)


def words(message: str) -> list[str]:
    """Sorted, since a question about both eyes names the right one first."""
    return sorted(re.findall(r"[^\s,:.?]+", message))


@pytest.mark.parametrize(("changes", "asks"), QUESTIONS, ids=[asks for _, asks in QUESTIONS])
def test_the_same_is_asked_of_the_other_eye(patient: Patient, changes: dict[str, Any], asks: str) -> None:
    typed = EYES | {name.replace("__", "-"): value for name, value in changes.items()}
    other = {mirrored(name): value for name, value in typed.items()}
    found, _ = entry(patient, **other)
    expected, _ = entry(patient, **changes)
    said = [words(remark.message) for remark in found.open_questions]
    assert sorted(said) == sorted(words(mirrored(remark.message)) for remark in expected.open_questions)


def test_a_tick_does_not_cover_figures_typed_after_it(patient: Patient) -> None:
    found, _ = entry(patient, right__sphere="-3.12")
    ticks = [remark.key for remark in found.open_questions]
    again, _ = entry(patient, right__sphere="-3.37", confirmed=ticks)
    assert [remark.message for remark in again.open_questions] == [
        "The right sphere −3.375 is not a quarter step. Is it so written?"
    ]


def test_an_eye_left_empty_on_purpose_has_no_line(patient: Patient) -> None:
    empty = {f"left__{name}": "" for name in ("sphere", "cylinder", "axis", "add")}
    found, _ = entry(patient, **empty)
    send(patient, **empty, confirmed=[remark.key for remark in found.open_questions])
    assert Prescription.objects.get().left is None


def test_a_balance_lens_is_kept_as_prescribed_with_no_power_of_its_own(patient: Patient) -> None:
    """It is no eye without a prescription, so nobody is asked whether it is to have none."""
    empty = {f"left__{name}": "" for name in ("sphere", "cylinder", "axis", "add")}
    assert send(patient, **empty, left__balance="on").status_code == 302
    stored = Prescription.objects.get()
    left = there(stored.left)
    assert (left.balance, left.sphere, there(stored.right).balance) == (True, None, False)
    right_row, left_row = rows_of(stored, Practice.current())
    assert (right_row.sphere, left_row.sphere) == ("−3.25", "Balance")
    shown = signed_in("dora").get(f"/prescriptions/{stored.public_id}/").context["shown"]
    assert [eye.balance for eye in shown] == [False, True]
    typed = FACTS | EYES | {"right-balance": "on", "left-balance": "on"}
    both = signed_in("dora").post(f"/patients/{patient.public_id}/prescriptions/live/", typed).context["remarks"]
    assert "Both eyes are to have a balance lens. Which eye is it to match?" in [remark.message for remark in both]


def test_two_empty_eyes_are_no_prescription(patient: Patient) -> None:
    found, _ = entry(patient, **{name.replace("-", "__"): "" for name in EYES})
    assert "at least one eye" in faults(found.right, "sphere")


def test_an_eye_that_cannot_be_read_is_not_asked_about_as_empty(patient: Patient) -> None:
    found, _ = entry(patient, right__sphere="2.50")
    assert not any("Nothing is written" in remark.message for remark in found.remarks)


def test_a_cylinder_of_nought_is_no_cylinder(patient: Patient) -> None:
    send(patient, right__cylinder="0.00", right__axis="90")
    right = there(Prescription.objects.get().right)
    assert (right.cylinder, right.axis) == (None, None)


def test_a_correction_records_old_and_new_of_each_figure(patient: Patient) -> None:
    send(patient)
    prescription = Prescription.objects.get()
    typed = FACTS | EYES | {"right-axis": "175", "prescriber": "U. Prescriber"}
    answer = signed_in("dora").post(f"/prescriptions/{prescription.public_id}/correct/", typed)
    assert answer.status_code == 302
    event = AuditEvent.objects.get(verb="prescription.correct")
    assert event.changes == {"prescriber": ["T. Prescriber", "U. Prescriber"], "right.axis": ["170", "175"]}


def test_who_corrects_what_a_colleague_corrected_meanwhile_is_told_before_saving_over_it(patient: Patient) -> None:
    send(patient)
    address = f"/prescriptions/{Prescription.objects.get().public_id}/correct/"
    opened = signed_in("dora").get(address).context["version"]
    signed_in("ravi").post(address, FACTS | EYES | {"right-axis": "175"})
    typed = FACTS | EYES | {"right-axis": "165", "version": opened}
    told = signed_in("dora").post(address, typed)
    assert "Ravi Castellan changed this prescription. right axis is now 175, here 165." in told.content.decode()
    assert there(Prescription.objects.get().right).axis == 175
    again = signed_in("dora").post(address, typed | {"version": told.context["version"]})
    assert again.status_code == 302
    assert there(Prescription.objects.get().right).axis == 165


def test_correcting_opens_with_what_is_stored_and_saving_it_changes_nothing(patient: Patient) -> None:
    prescription = a_prescription(patient, right={"prism_horizontal": "1.50", "prism_horizontal_base": "out"})
    client = signed_in("dora")
    opened = client.get(f"/prescriptions/{prescription.public_id}/correct/").context["entry"]
    typed = {field.html_name: field.value() or "" for form in opened.forms for field in form}
    typed["tested_on"] = "30/10/2026"
    assert typed["right-sphere"] == "-3.25"
    answer = client.post(f"/prescriptions/{prescription.public_id}/correct/", typed)
    assert answer.status_code == 302
    assert not AuditEvent.objects.filter(verb="prescription.correct").exists()


def test_while_typing_both_forms_both_meridians_and_the_change_are_shown(patient: Patient) -> None:
    a_prescription(patient, tested_on=timezone.localdate() - timedelta(days=700))
    typed = FACTS | EYES | {"right-sphere": "-3.75", "right-axis": "175"}
    shown = signed_in("dora").post(f"/patients/{patient.public_id}/prescriptions/live/", typed).content.decode()
    assert "−3.75 / −1.00 x 175" in shown
    assert "−4.75 / +1.00 x 85" in shown
    assert "−4.75 along 85" in shown
    assert "0.50 D more minus; axis 170 → 175" in shown


def test_a_prescription_is_not_compared_with_itself(patient: Patient) -> None:
    prescription = a_prescription(patient)
    typed = FACTS | EYES | {"corrected": str(prescription.public_id)}
    shown = signed_in("dora").post(f"/patients/{patient.public_id}/prescriptions/live/", typed).content.decode()
    assert "no earlier prescription" in shown


def test_eyes_exchanged_since_last_time_are_noticed(patient: Patient) -> None:
    a_prescription(patient, right={"sphere": "-5.00", "cylinder": None, "axis": None})
    typed = FACTS | {"right-sphere": "-2.75", "left-sphere": "-5.00"}
    found = signed_in("dora").post(f"/patients/{patient.public_id}/prescriptions/live/", typed).context["entry"]
    assert any("R and L exchanged" in remark.message for remark in found.remarks)


def test_live_figures_take_a_fixed_number_of_queries(
    patient: Patient, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for _ in range(5):
        a_prescription(patient)
    client = signed_in("dora")
    address = f"/patients/{patient.public_id}/prescriptions/live/"
    client.post(address, FACTS | EYES)  # The first look at a record is noted with more of them.
    with django_assert_max_num_queries(15):
        client.post(address, FACTS | EYES)


STRONG = {"right__sphere": "-6.50", "left__sphere": "-6.00", "right__add": "2.00", "left__add": "2.00"}


def test_a_strong_prescription_is_taken_in_with_its_vertex_or_with_the_word_that_nobody_knows_it(
    patient: Patient,
) -> None:
    typed, html = entry(patient, **STRONG)
    (asked,) = typed.open_questions
    assert asked.field == "vertex_mm"
    assert '<a href="#id_vertex_mm">Go to the field</a>' in html
    assert "It is not on the paper" in html
    send(patient, **STRONG, confirmed=asked.key)
    send(patient, **STRONG, vertex_mm="12", use="near")
    assert [row.vertex_mm for row in Prescription.objects.order_by("pk")] == [None, Decimal("12.0")]


@pytest.mark.parametrize(
    ("source", "typed", "kept"),
    [("own test", "", Decimal("13.5")), ("own test", "12", Decimal("12.0")), ("written", "", None)],
)
def test_a_test_made_here_has_the_practices_own_vertex_unless_another_is_written(
    patient: Patient, source: str, typed: str, kept: Decimal | None
) -> None:
    Practice.current()
    Practice.objects.update(test_vertex_mm="13.5")
    if kept is None:
        left, html = entry(patient, **STRONG, source=source)
        assert [one.field for one in left.open_questions] == ["vertex_mm"]
        assert "Left empty for a test made here, it is 13.5 mm." in html
        return
    send(patient, **STRONG, source=source, vertex_mm=typed)
    assert there(Prescription.objects.first()).vertex_mm == kept


@pytest.mark.parametrize(
    ("use", "eyes", "asked"),
    [
        ("distance", {"right": -2.25, "left": -2.0}, "is −2.25 in the pair worn now. Is the sign right now?"),
        ("near", {"right": -2.25, "left": -2.0}, ""),
        ("distance", {"right": 2.0, "left": 2.5}, ""),
    ],
)
def test_a_slip_of_a_new_patient_is_asked_about_against_the_pair_worn_now(
    patient: Patient, use: str, eyes: dict[str, float], asked: str
) -> None:
    other = {"right": {"sphere": -2.25}, "left": {"sphere": -2.0}}
    shop.worn_pair(a_patient(family_name="Okonkwo"), **other, read_on=timezone.localdate())
    worn = {eye: {"sphere": sphere} for eye, sphere in eyes.items()}
    shop.worn_pair(patient, **worn, use=use, read_on=timezone.localdate())
    plus = {f"{eye}-{name}": "" for eye in ("right", "left") for name in ("cylinder", "axis", "add")}
    answer = send(patient, **plus, right__sphere="+2.25", left__sphere="+2.50")
    said = [one.message for one in answer.context["entry"].open_questions] if answer.status_code == 200 else []
    assert [text for text in said if "sphere of the right eye" in text and "worn now" in text] == (
        [f"The sphere of the right eye {asked}"] if asked else []
    )


def test_the_last_prescription_comes_before_the_pair_worn_now(patient: Patient) -> None:
    a_prescription(patient)
    shop.worn_pair(patient, {"sphere": 5}, {"sphere": 5}, read_on=timezone.localdate())
    answer = send(patient)
    assert answer.status_code == 302
