"""The fitting sheet: which readings are stored, what is said about them, and what a copy leaves out."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from dispensing.models import AuditEvent, Fitting, Frame, Patient, Practice
from tests.builders import a_frame, a_patient, a_prescription
from tests.known import there
from tests.people import Answer, person, signed_in

pytestmark = pytest.mark.django_db

FIGURES = {
    "pd_mm-right": "31.5 32 31.5",
    "pd_mm-left": "32",
    "pd_mm-method": "pupillometer",
    "height_mm-right": "21",
    "height_mm-left": "21.5",
    "pantoscopic_deg-both": "9",
    "near_distance_mm": "400",
}


def sheet(patient: Patient, frame: Frame) -> str:
    return reverse("fitting-record", args=[patient.public_id, frame.public_id])


def usual(**changes: Any) -> dict[str, Any]:
    """As typed on the sheet of a new fitting, or of one that was never changed."""
    today = timezone.localdate()
    typed = {"measured_on": today.strftime("%d/%m/%Y"), "taken_by": person("ravi").pk, "version": "1", **FIGURES}
    return typed | changes


def record(
    patient: Patient | None = None, frame: Frame | None = None, username: str = "ravi", **changes: Any
) -> Answer:
    changes = {name.replace("__", "-"): value for name, value in changes.items()}
    return signed_in(username).post(sheet(patient or a_patient(), frame or a_frame()), usual(**changes))


def errors(response: Answer) -> dict[str, Any]:
    assert response.status_code == 200, "the fitting was saved"
    return {name: " ".join(found) for name, found in response.context["form"].errors.items()}


def test_each_figure_is_kept_with_its_readings_its_doubt_its_method_and_its_maker() -> None:
    record()
    fitting = Fitting.objects.get()
    right = there(fitting.figure("pd_mm", "right"))
    assert (right.value, right.readings, right.method) == (
        Decimal("31.67"),
        [31.5, 32.0, 31.5],
        "pupillometer",
    )
    assert right.plus_minus == Decimal("0.43")  # 0.75 mm (95 %) of one reading, over the root of three
    assert (right.taken_by, right.reading_count) == (person("ravi"), 3)
    height = there(fitting.figure("height_mm", "left"))
    assert (height.plus_minus, height.readings) == (Decimal("0.90"), [])
    assert there(fitting.figure("pantoscopic_deg")).method == "gauge"
    assert AuditEvent.objects.get().changes["pd_mm right"] == [None, "31.67 (pupillometer, 3)"]


def test_the_page_shows_the_figure_rounded_to_the_practices_step_and_keeps_the_mean() -> None:
    record()
    fitting = Fitting.objects.get()
    url = reverse("fitting-page", args=[fitting.public_id])
    assert "<strong>31.5</strong>" in signed_in("dora").get(url).content.decode()
    Practice.objects.update(rounding_mm=Decimal("0.1"))
    page = signed_in("dora").get(url).content.decode()
    assert "<strong>31.7</strong>" in page
    assert "mean 31.67" in page


BAD = [
    ({"binocular_pd_mm__both": "31"}, "binocular_pd_mm-both", "looks like the PD of one eye"),
    ({"pd_mm__right": "63.5"}, "pd_mm-right", "looks like the PD of both eyes"),
    ({"height_mm__right": "38"}, "height_mm-right", "above the top of the lens: B is 38 mm"),
    ({"near_pd_mm__right": "33"}, "near_pd_mm-right", "not smaller than the PD"),
    ({"pd_mm__right": "about 31"}, "pd_mm-right", "“about” is not a reading"),
    ({"near_distance_mm": "40"}, "near_distance_mm", "Did you mean 400.0?"),
    ({"measured_on": "31/02/2026"}, "measured_on", ""),
    ({"measured_on": ""}, "measured_on", ""),
    ({"taken_by": ""}, "taken_by", ""),
]


@pytest.mark.parametrize(("changes", "field", "words"), BAD)
def test_a_slip_is_told_beside_its_field_and_keeps_what_was_typed(
    changes: dict[str, Any], field: str, words: str
) -> None:
    response = record(**changes)
    assert list(errors(response)) == [field]
    assert words in errors(response)[field]
    assert response.context["form"][field].value() == next(iter(changes.values()))
    assert not Fitting.objects.exists()


def test_a_fitting_of_tomorrow_is_refused() -> None:
    tomorrow = (timezone.localdate() + timedelta(days=1)).strftime("%d/%m/%Y")
    assert "in the future" in errors(record(measured_on=tomorrow))["measured_on"]


def test_a_sheet_without_a_single_figure_is_refused() -> None:
    response = record(None, None, **dict.fromkeys(FIGURES, ""))
    assert "No figure was typed" in errors(response)["__all__"]


def live(patient: Patient, frame: Frame, **changes: Any) -> str:
    url = reverse("fitting-live", args=[patient.public_id, frame.public_id])
    return signed_in("ravi").post(url, usual(**changes), headers={"HX-Request": "true"}).content.decode()


def test_the_live_answer_sums_the_eyes_and_puts_words_beside_the_fields() -> None:
    answer = live(a_patient(), a_frame(), **{"binocular_pd_mm-both": "65"})
    assert "31.67 + 32 = 63.67 mm" in answer
    assert 'id="told-binocular_pd_mm-both"' in answer
    assert "31.5 mm ± 0.4, mean of 3 (31.67), spread 0.5" in answer
    assert "<svg" in answer
    assert not Fitting.objects.exists()


def test_the_live_answer_names_a_slip_and_still_judges_the_rest() -> None:
    answer = live(a_patient(), a_frame(), **{"binocular_pd_mm-both": "31", "pantoscopic_deg-both": "15"})
    assert "looks like the PD of one eye" in answer
    assert "15° is unusual" in answer


# near = far - far / (1 + W (1/s - F/1000)), W 400, s 27 where the vertex distance is not known (Jalie).
NEAR = [(None, 32 * 400 / 427), (Decimal("-6.00"), 32 - 32 / (1 + 400 * (1 / 27 + 0.006)))]


@pytest.mark.parametrize(("sphere", "near"), NEAR)
def test_the_near_pd_is_computed_through_the_prescribed_lens_and_stored_only_when_asked_for(
    sphere: Decimal | None, near: float
) -> None:
    patient, frame = a_patient(), a_frame()
    if sphere is not None:
        a_prescription(patient, right={"sphere": sphere, "cylinder": None, "axis": None})
    changes = {"pd_mm-right": "32", "pd_mm-left": ""}
    assert f"computed {near:.1f} mm" in live(patient, frame, **changes)
    signed_in("ravi").post(sheet(patient, frame), usual(**changes))
    assert Fitting.objects.get().figure("near_pd_mm", "right") is None
    signed_in("ravi").post(sheet(patient, frame), usual(**changes, use_computed_near="on"))
    stored = there(Fitting.objects.latest("pk").figure("near_pd_mm", "right"))
    assert stored.method == "calculated"
    assert float(stored.value) == pytest.approx(near, abs=0.005)


def test_the_computed_near_pd_takes_the_power_along_the_horizontal() -> None:
    patient = a_patient()
    a_prescription(patient, right={"sphere": Decimal("0"), "cylinder": Decimal("-4.00"), "axis": 90})
    along_180 = 32 - 32 / (1 + 400 * (1 / 27 + 0.004))
    answer = live(patient, a_frame(), **{"pd_mm-right": "32", "pd_mm-left": ""})
    assert f"computed {along_180:.1f} mm" in answer


def test_a_measured_near_pd_is_never_replaced_by_the_computed_one() -> None:
    record(near_pd_mm__right="29", use_computed_near="on")
    fitting = Fitting.objects.get()
    assert there(fitting.figure("near_pd_mm", "right")).value == Decimal("29.00")
    assert there(fitting.figure("near_pd_mm", "left")).method == "calculated"


def test_a_fitting_says_that_it_was_measured_before_the_frame_was_changed() -> None:
    frame = a_frame()
    record(frame=frame)
    fitting = Fitting.objects.get()
    url = reverse("fitting-page", args=[fitting.public_id])
    warning = "Measured before the frame was changed"
    assert warning not in signed_in("ravi").get(url).content.decode()
    frame.b_mm = Decimal("40")
    frame.save()
    assert warning in signed_in("ravi").get(url).content.decode()
    correct = reverse("fitting-correct", args=[fitting.public_id])
    signed_in("ravi").post(correct, usual())
    assert warning in signed_in("ravi").get(url).content.decode()
    signed_in("ravi").post(correct, usual(measured_again="on"))
    assert warning not in signed_in("ravi").get(url).content.decode()


def test_correcting_one_figure_leaves_the_others_with_their_maker_and_tells_old_and_new() -> None:
    record()
    fitting = Fitting.objects.get()
    url = reverse("fitting-correct", args=[fitting.public_id])
    response = signed_in("ines").post(
        url, usual(**{"height_mm-left": "22", "height_mm-right": ""}, taken_by=person("ines").pk)
    )
    assert response.status_code == 302
    fitting = Fitting.objects.get()
    assert fitting.figure("height_mm", "right") is None
    assert there(fitting.figure("height_mm", "left")).taken_by == person("ines")
    assert there(fitting.figure("pd_mm", "right")).taken_by == person("ravi")
    assert AuditEvent.objects.latest("pk").changes == {
        "height_mm left": ["21.50 (rule, 1)", "22.00 (rule, 1)"],
        "height_mm right": ["21.00 (rule, 1)", None],
    }


def test_a_sheet_saved_as_it_was_shown_records_nothing() -> None:
    record()
    fitting = Fitting.objects.get()
    url = reverse("fitting-correct", args=[fitting.public_id])
    form = signed_in("ravi").get(url).context["form"]
    shown = {name: form[name].value() for name in form.fields}
    assert shown["pd_mm-right"] == "31.5 32 31.5"
    signed_in("ravi").post(url, usual(**{name: value for name, value in shown.items() if value and name in FIGURES}))
    assert AuditEvent.objects.filter(verb="fitting.change").count() == 0


def test_the_better_doubt_of_a_photo_survives_a_correction_of_something_else() -> None:
    record()
    fitting = Fitting.objects.get()
    row = fitting.figure("height_mm", "left")
    there(row).method, there(row).plus_minus = "photo", Decimal("0.41")
    there(row).save()
    url = reverse("fitting-correct", args=[fitting.public_id])
    signed_in("ravi").post(url, usual(**{"pd_mm-left": "32.5", "height_mm-method": "photo"}))
    fitting = Fitting.objects.get()
    assert there(fitting.figure("pd_mm", "left")).value == Decimal("32.50")
    assert there(fitting.figure("height_mm", "left")).plus_minus == Decimal("0.41")


def test_a_copy_takes_the_pds_to_the_other_frame_and_leaves_heights_and_angles() -> None:
    record(binocular_pd_mm__both="63.5", vertex_mm__right="13")
    fitting, other = Fitting.objects.get(), a_frame(model="Bracken")
    response = signed_in("ines").post(reverse("fitting-copy", args=[fitting.public_id, other.public_id]))
    copied = Fitting.objects.latest("pk")
    assert response["Location"] == reverse("fitting-correct", args=[copied.public_id])
    assert {(row.quantity, row.eye) for row in copied.measurements.all()} == {
        ("pd_mm", "right"),
        ("pd_mm", "left"),
        ("binocular_pd_mm", "both"),
    }
    right = there(copied.figure("pd_mm", "right"))
    assert (right.method, right.value, right.taken_by) == (
        "copied",
        Decimal("31.67"),
        person("ravi"),
    )
    assert right.plus_minus == Decimal("0.43")
    assert (copied.frame, copied.pre_adjusted, copied.recorded_by) == (other, False, person("ines"))
    assert copied.measured_in_this_frame


def test_a_fitting_is_not_copied_to_its_own_frame_nor_into_anothers_own() -> None:
    record()
    fitting = Fitting.objects.get()
    for frame in (fitting.frame, a_frame(owner=a_patient())):
        signed_in("ravi").post(reverse("fitting-copy", args=[fitting.public_id, frame.public_id]))
    assert Fitting.objects.count() == 1


def test_another_patients_own_frame_cannot_be_measured() -> None:
    response = record(frame=a_frame(owner=a_patient()))
    assert "belongs to another patient" in errors(response)["__all__"]


def test_the_frame_is_chosen_among_the_patients_own_and_the_stock() -> None:
    patient = a_patient()
    own = a_frame(model="Worn", owner=patient)
    a_frame(model="Stranger", owner=a_patient())
    stock = a_frame(model="Bracken")
    page = signed_in("ravi").get(reverse("fitting-new", args=[patient.public_id])).content.decode()
    for frame in (own, stock):
        assert sheet(patient, frame) in page
    assert "Stranger" not in page


def test_the_front_desk_reads_fittings_and_takes_none() -> None:
    assert record(username="dora").status_code == 403
    record()
    fitting = Fitting.objects.get()
    desk = signed_in("dora")
    assert desk.get(reverse("fitting-page", args=[fitting.public_id])).status_code == 200
    assert desk.get(reverse("fitting-correct", args=[fitting.public_id])).status_code == 403


def test_a_fitting_page_needs_as_many_queries_for_ten_fittings_as_for_one(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    patient, frame = a_patient(), a_frame()
    record(patient, frame)
    url = reverse("fitting-page", args=[Fitting.objects.get().public_id])
    client = signed_in("dora")
    client.get(url)
    with django_assert_num_queries(12):
        client.get(url)
    for _ in range(9):
        record(patient, frame)
    with django_assert_num_queries(12):
        client.get(url)


def test_a_frame_without_sizes_can_be_measured_and_draws_nothing() -> None:
    frame = a_frame(a_mm=None, b_mm=None, dbl_mm=None, ed_mm=None)
    assert "so it cannot be drawn" in live(a_patient(), frame)
    assert record(frame=frame).status_code == 302


def test_who_is_measured_was_here_today() -> None:
    patient = a_patient(last_seen_on=timezone.localdate() - timedelta(days=400))
    record(patient)
    patient.refresh_from_db()
    assert patient.last_seen_on == timezone.localdate()


def fill_face_form(frame: Frame, degrees: str = "5", **changes: Any) -> Fitting:
    record(a_patient(), frame, **{"face_form_deg-both": degrees, "face_form_deg-method": "gauge", **changes})
    return Fitting.objects.latest("pk")


def test_a_new_sheet_starts_with_the_face_form_last_measured_in_that_frame_and_says_so() -> None:
    frame, other = a_frame(), a_frame(model="Bracken")
    fill_face_form(other, "9")
    older = (timezone.localdate() - timedelta(days=30)).strftime("%d/%m/%Y")
    fill_face_form(frame, "5")
    fill_face_form(frame, "7", measured_on=older)
    response = signed_in("ravi").get(sheet(a_patient(), frame))
    form = response.context["form"]
    assert (form["face_form_deg-both"].value(), form["face_form_deg-method"].value()) == ("5", "copied")
    assert form["pantoscopic_deg-both"].value() is None
    said = f"as measured in this frame on {timezone.localdate():%-d %b %Y}"
    assert response.content.decode().count(said) == 1
    filled = {"face_form_deg-both": "5", "face_form_deg-method": "copied"}
    assert said in live(a_patient(), frame, **filled)
    assert said not in live(a_patient(), frame, **filled | {"face_form_deg-both": "6"})


def test_nothing_is_filled_in_once_the_frame_was_changed_or_from_a_copied_figure() -> None:
    frame = a_frame()
    fill_face_form(frame, **{"face_form_deg-method": "copied"})
    assert signed_in("ravi").get(sheet(a_patient(), frame)).context["form"]["face_form_deg-both"].value() is None
    fill_face_form(frame)
    frame.b_mm = Decimal("39")
    frame.save()
    assert signed_in("ravi").get(sheet(a_patient(), frame)).context["form"]["face_form_deg-both"].value() is None


def test_a_fitting_being_corrected_keeps_its_own_figures() -> None:
    frame = a_frame()
    record(a_patient(), frame)
    fitting = Fitting.objects.get()
    fill_face_form(frame)
    form = signed_in("ravi").get(reverse("fitting-correct", args=[fitting.public_id])).context["form"]
    assert form["face_form_deg-both"].value() is None


def test_a_sheet_with_nothing_but_what_was_filled_in_is_refused() -> None:
    frame = a_frame()
    fill_face_form(frame)
    filled = {"face_form_deg-both": "5", "face_form_deg-method": "copied"}
    response = record(None, frame, **dict.fromkeys(FIGURES, "") | filled)
    assert "No figure was typed" in errors(response)["__all__"]
    assert record(None, frame, **dict.fromkeys(FIGURES, "") | filled | {"pd_mm-right": "31"}).status_code == 302
    assert there(Fitting.objects.latest("pk").figure("face_form_deg")).method == "copied"


def test_an_unusual_figure_is_marked_on_the_sheet_and_on_record_and_a_usual_one_is_not() -> None:
    patient, frame = a_patient(), a_frame()
    answer = live(patient, frame, **{"pantoscopic_deg-both": "15"})
    assert 'class="figure-said marks ask" id="said-pantoscopic_deg-both"' in answer
    assert 'class="figure-said" id="said-height_mm-right"' in answer
    record(patient, frame, **{"pantoscopic_deg-both": "15"})
    url = reverse("fitting-page", args=[Fitting.objects.get().public_id])
    page = signed_in("dora").get(url)
    told = {
        line["row"].quantity.value: [hint.message for cell in line["cells"] for hint in cell["hints"]]
        for line in page.context["lines"]
    }
    assert told == {
        "pd_mm": [],
        "height_mm": [],
        "pantoscopic_deg": ["15° is unusual: a pantoscopic tilt is mostly 7 to 12°. Measure once more to be sure."],
    }
    text = page.content.decode()
    assert text.count("Unusual: ") == 1
    assert told["pantoscopic_deg"][0] in text


def test_a_new_sheet_offers_the_pds_last_measured_of_this_patient_and_says_when() -> None:
    patient, frame, day = a_patient(), a_frame(), timezone.localdate()
    older = (day - timedelta(days=30)).strftime("%d/%m/%Y")
    record(patient, frame, measured_on=older, **{"pd_mm-right": "30", "pd_mm-left": "30.5"})
    record(patient, a_frame(model="Bracken"), **{"pd_mm-right": "31", "pd_mm-left": ""})
    record(patient, frame, **{"pd_mm-right": "39", "pd_mm-left": "39", "pd_mm-method": "copied"})
    record(a_patient(family_name="Other"), frame, **{"pd_mm-right": "35", "pd_mm-left": "35"})
    response = signed_in("ravi").get(sheet(patient, a_frame(model="Alder")))
    assert response.context["sheet"].offered == {"pd_mm-right": "31", "pd_mm-left": "30.5", "pd_mm-method": "copied"}
    html = response.content.decode()
    assert f'id="said-pd_mm-right" for="id_pd_mm-right">last 31.0 on {day:%-d %b %Y}</output>' in html
    assert f'for="id_pd_mm-left">last 30.5 on {day - timedelta(days=30):%-d %b %Y}</output>' in html
    assert html.count(">last 3") == 2
    assert response.context["form"]["pd_mm-right"].value() is None


def test_nothing_is_offered_where_no_pd_was_measured_or_a_fitting_is_corrected() -> None:
    patient = a_patient()
    assert signed_in("ravi").get(sheet(patient, a_frame())).context["sheet"].offered == {}
    record(patient)
    page = signed_in("ravi").get(reverse("fitting-correct", args=[Fitting.objects.get().public_id]))
    assert "data-take-over" not in page.content.decode()
