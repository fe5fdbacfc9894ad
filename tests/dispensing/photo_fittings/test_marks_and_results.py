"""Marks are kept as they are made, the second of two markers is told, and the figures become a fitting with their ±."""

from __future__ import annotations

import json
import re
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from dispensing.ages import age_on
from dispensing.fitting.on_record import composed
from dispensing.models import AuditEvent, Fitting, FittingPhoto, Frame, PhotoMeasuring
from dispensing.queries.photo_fittings import (
    frame_facts,
    measured_from,
    photo_facts,
    photo_measurings,
    points_in_hand,
)
from dispensing.services.fittings import FigureTaken, record_fitting
from dispensing.services.photo_fittings import start_measuring
from orders.facts import readings_of
from tests.builders import a_frame, a_patient
from tests.dispensing.photo_fittings.rendered import FOCAL_PX, true_marks, usual_scene
from tests.fitting.simulate import HEIGHT_PX, WIDTH_PX
from tests.fitting.simulate import Frame as WornFrame
from tests.known import there
from tests.people import person, signed_in

pytestmark = pytest.mark.django_db

SCENE = usual_scene()
MARKS = true_marks(SCENE)


def part(view: str) -> dict[str, Any]:
    """What the page sends: marks and settings, without what the record knows."""
    known = ("width_px", "height_px", "focal_px", "mark_sd_px", "camera_distance_mm", "face_form_deg")
    sent = {name: value for name, value in MARKS[view].items() if name not in known and value is not None}
    # The simulated front is flat, and the camera's own sensor told that it looked level.
    told = {"scale": {"by": "frame"}, "face_form_deg": 0.0, "camera_pitch_deg": 0.0}
    return {**sent, **told} if view == "front" else sent


@pytest.fixture
def measuring() -> PhotoMeasuring:
    return start_measuring(actor=person("ravi"), patient=a_patient(), frame=a_frame(), near_distance_mm=400)


def a_photo(measuring: PhotoMeasuring, view: str = "front", **changes: Any) -> FittingPhoto:
    size = {"width_px": WIDTH_PX, "height_px": HEIGHT_PX, "focal_px": FOCAL_PX} if view == "front" else {}
    usual = {"width_px": 3000, "height_px": 4000, "added_by": person("ravi")} | size
    return FittingPhoto.objects.create(measuring=measuring, view=view, **(usual | changes))


def send(photo: FittingPhoto, what: str, marks: Any, version: int = 0, who: str = "ravi") -> Any:
    body = json.dumps({"marks": marks, "version": version})
    return signed_in(who).post(f"/photos/{photo.public_id}/{what}/", body, content_type="application/json")


def test_marks_are_saved_with_their_maker_and_measured_in_the_same_answer(measuring: PhotoMeasuring) -> None:
    photo = a_photo(measuring)
    answer = send(photo, "marks", part("front")).json()
    assert answer["version"] == 1
    assert "PD 32.6" in answer["summary"]
    photo.refresh_from_db()
    assert photo.marks["right"]["pupil"] == MARKS["front"]["right"]["pupil"]
    assert photo.marks["scale"] == {"by": "frame"}
    assert (photo.version, photo.marked_by) == (1, person("ravi"))


def test_of_two_people_who_mark_at_once_the_second_is_told_and_shown_the_other_s_marks(
    measuring: PhotoMeasuring,
) -> None:
    photo = a_photo(measuring)
    send(photo, "marks", part("front"))
    late = {"gaze": "far"}
    answer = send(photo, "marks", late, version=0, who="ines")
    assert answer.status_code == 409
    assert answer.json()["message"] == "Ravi Castellan has changed the marks of this photo since you opened it."
    assert answer.json()["marks"]["gaze"] == "camera"
    photo.refresh_from_db()
    assert photo.marked_by == person("ravi")
    assert send(photo, "marks", late, version=answer.json()["version"], who="ines").status_code == 200


def test_the_audit_trail_has_one_entry_for_each_sitting_of_each_person(measuring: PhotoMeasuring) -> None:
    photo = a_photo(measuring)
    for version, who in enumerate(["ravi", "ravi", "ines", "ines", "ravi"]):
        assert send(photo, "marks", part("front"), version, who).status_code == 200
    told = AuditEvent.objects.filter(verb="photo.mark").order_by("pk").values_list("actor__username", flat=True)
    assert list(told) == ["ravi", "ines", "ravi"]


def test_live_figures_keep_nothing(measuring: PhotoMeasuring) -> None:
    photo = a_photo(measuring)
    answer = send(photo, "live", part("front")).json()
    assert "Binocular PD" in answer["html"]
    photo.refresh_from_db()
    assert photo.marks == {}


@pytest.mark.parametrize(
    ("marks", "says"),
    [
        ({"right": {"pupil": [1.0]}}, "$.front.right.pupil"),
        ({"invented": 1}, "$.front.invented: unknown key"),
        ({"gaze": "away"}, "unknown word 'away'"),
        ([], "the marks are missing"),
        ({"right": {"pupil": ["x" * 30_000, 1]}}, "the marks are missing"),
    ],
    ids=["half a point", "unknown key", "unknown word", "no object", "far too long"],
)
@pytest.mark.parametrize("what", ["live", "marks", "proposals"])
def test_marks_that_are_none_are_refused_in_words(measuring: PhotoMeasuring, marks: Any, says: str, what: str) -> None:
    photo = a_photo(measuring, file="fitting-photos/x.jpg")
    answer = send(photo, what, marks)
    assert answer.status_code == 400
    assert says in answer.json()["message"]
    photo.refresh_from_db()
    assert photo.version == 0


def test_what_the_record_knows_is_not_taken_from_the_browser(measuring: PhotoMeasuring) -> None:
    photo = a_photo(measuring)
    forged = part("front") | {"focal_px": 1.0, "width_px": 5.0, "scale": {"by": "frame", "a_mm": 30.0, "dbl_mm": 5.0}}
    send(photo, "marks", forged)
    photo.refresh_from_db()
    assert "focal_px" not in photo.marks
    measured = measured_from(photo_measurings().get())
    assert measured is not None
    assert measured.fitting.right.a_mm is not None
    assert measured.fitting.right.a_mm.value == pytest.approx(52.0, abs=0.05)


def test_a_mark_that_slipped_is_named_and_leads_to_its_place(measuring: PhotoMeasuring) -> None:
    photo = a_photo(measuring)
    slipped = json.loads(json.dumps(part("front")))
    slipped["left"]["nasal"][0] -= 40
    answer = send(photo, "live", slipped).json()
    assert "front.left.nasal" in answer["suspects"]
    assert 'data-look="front.left.nasal"' in answer["html"]


def test_live_figures_ask_the_database_no_more_for_more_photos(
    measuring: PhotoMeasuring, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    a_photo(measuring, "side", marks=part("side"))
    photo, ravi = a_photo(measuring), signed_in("ravi")
    body = json.dumps({"marks": part("front")})

    def ask() -> None:
        ravi.post(f"/photos/{photo.public_id}/live/", body, content_type="application/json")

    ask()
    with django_assert_max_num_queries(12) as first:
        ask()
    for _ in range(3):
        a_photo(measuring, marks=part("front"))
    with django_assert_max_num_queries(len(first)):
        ask()


def both_marked(measuring: PhotoMeasuring) -> None:
    now = timezone.now()
    for view in ("front", "side"):
        a_photo(measuring, view, marks=part(view), version=1, marked_by=person("ines"), marked_at=now)


def use(measuring: PhotoMeasuring, figures: list[str], **form: Any) -> Any:
    address = f"/photo-fittings/{measuring.public_id}/use/"
    return signed_in("ravi").post(address, {"figures": figures, "into": "", **form}, follow=True)


def test_figures_become_a_fitting_by_photo_with_their_plus_minus_and_whoever_marked(measuring: PhotoMeasuring) -> None:
    both_marked(measuring)
    use(measuring, ["pd_mm-right", "pd_mm-left", "height_mm-right", "vertex_mm-right", "pantoscopic_deg-both"])
    fitting = Fitting.objects.get()
    pd = fitting.figure("pd_mm", "right")
    assert pd is not None
    assert (pd.method, pd.taken_by) == ("photo", person("ines"))
    assert float(pd.value) == pytest.approx(32.6, abs=0.05)
    assert Decimal("0.5") < there(pd.plus_minus) < Decimal("2")
    assert float(there(fitting.figure("vertex_mm", "right")).value) == pytest.approx(13.2, abs=0.05)
    assert float(there(fitting.figure("pantoscopic_deg")).value) == pytest.approx(9.0, abs=0.05)
    assert fitting.figure("height_mm", "left") is None
    measuring.refresh_from_db()
    assert (measuring.fitting, measuring.finished_by) == (fitting, person("ravi"))


def test_a_used_measuring_changes_no_more(measuring: PhotoMeasuring) -> None:
    both_marked(measuring)
    use(measuring, ["pd_mm-right"])
    photo = measuring.photos.get(view="front")
    assert send(photo, "marks", {}, version=1).status_code == 409
    assert "have already been used" in use(measuring, ["pd_mm-left"]).content.decode()
    signed_in("ravi").post(f"/photo-fittings/{measuring.public_id}/discard/")
    signed_in("ravi").post(f"/photos/{photo.public_id}/remove/")
    photo.refresh_from_db()
    assert photo.version == 1
    assert Fitting.objects.count() == 1


def by_hand(measuring: PhotoMeasuring, right_pd: float = 32.5) -> Fitting:
    return record_fitting(
        actor=person("ravi"),
        patient=measuring.patient,
        frame=measuring.frame,
        measured_on=timezone.localdate(),
        figures=[FigureTaken("pd_mm", "right", (right_pd,)), FigureTaken("height_mm", "left", (21.5,))],
    )


def test_chosen_figures_join_an_existing_fitting_and_leave_the_others_alone(measuring: PhotoMeasuring) -> None:
    both_marked(measuring)
    fitting = by_hand(measuring)
    use(measuring, ["pd_mm-right", "vertex_mm-left"], into=str(fitting.public_id))
    fitting = Fitting.objects.get()
    methods = {(row.quantity, row.eye): row.method for row in fitting.measurements.all()}
    assert methods == {
        ("pd_mm", "right"): "photo",
        ("vertex_mm", "left"): "photo",
        ("height_mm", "left"): "rule",
    }


def test_photo_and_hand_stand_side_by_side_and_a_disagreement_is_said(measuring: PhotoMeasuring) -> None:
    both_marked(measuring)
    by_hand(measuring, right_pd=32.5)
    page = signed_in("dora").get(f"/photo-fittings/{measuring.public_id}/").content.decode()
    assert "By hand:" in page
    assert "too much" not in page
    by_hand(measuring, right_pd=37.0)
    page = signed_in("dora").get(f"/photo-fittings/{measuring.public_id}/").content.decode()
    assert "Monocular PD, right: the photos say 32.6, by hand it was 37.0 mm" in page
    assert "too much" in page


def test_two_photos_are_put_together_and_the_plus_minus_shrinks(measuring: PhotoMeasuring) -> None:
    a_photo(measuring, marks=part("front"))
    one = measured_from(photo_measurings().get())
    a_photo(measuring, marks=part("front") | {"extra": {"renewed": True}})
    two = measured_from(photo_measurings().get())
    assert one is not None
    assert two is not None
    assert two.used == 2
    assert there(two.fitting.right.pd_mm).plus_minus == pytest.approx(
        there(one.fitting.right.pd_mm).plus_minus / 2**0.5, rel=0.1
    )
    photo = measuring.photos.last()
    assert photo is not None
    send(photo, "marks", part("front"))
    same_posture = measured_from(photo_measurings().get())
    assert there(there(same_posture).fitting.right.pd_mm).plus_minus > 1.1 * there(two.fitting.right.pd_mm).plus_minus


def test_figures_that_changed_since_the_page_was_opened_are_looked_at_before_they_are_used(
    measuring: PhotoMeasuring,
) -> None:
    both_marked(measuring)
    address = f"/photo-fittings/{measuring.public_id}/"
    seen = there(re.search(r'name="seen" value="(\w+)"', signed_in("ravi").get(address).content.decode()))[1]
    moved = json.loads(json.dumps(part("front")))
    moved["right"]["pupil"][0] -= 3
    assert send(measuring.photos.get(view="front"), "marks", moved, version=1, who="ines").status_code == 200
    page = use(measuring, ["pd_mm-right"], seen=seen).content.decode()
    assert "The figures have changed since this page was opened" in page
    assert not Fitting.objects.exists()
    as_now = there(re.search(r'name="seen" value="(\w+)"', page))[1]
    use(measuring, ["pd_mm-right"], seen=as_now)
    assert float(there(Fitting.objects.get().figure("pd_mm", "right")).value) > 33.0


def test_with_several_photos_a_finding_says_which_of_them_it_is_about(measuring: PhotoMeasuring) -> None:
    a_photo(measuring, marks=part("front"))
    slipped = json.loads(json.dumps(part("front")))
    slipped["left"]["pupil"][0] += 60
    a_photo(measuring, marks=slipped)
    a_photo(measuring, "side", marks=part("side"))
    page = signed_in("ravi").get(f"/photo-fittings/{measuring.public_id}/").content.decode()
    assert "Photo 2, front" in page
    assert "Photo 2: right PD less left PD comes out as" in page
    assert "Photo 2: look first at the left pupil mark" in page
    assert "Photos 1 and 3: " not in page


def test_a_photo_in_another_frame_than_the_record_s_is_noticed_by_its_sizes(measuring: PhotoMeasuring) -> None:
    photo = a_photo(measuring)
    right = send(photo, "live", part("front")).json()["html"]
    assert "recorded is" not in right
    Frame.objects.update(b_mm=34)
    message = "B comes out as 38.0 mm; recorded is 34 mm."
    assert message in send(photo, "live", part("front")).json()["html"]
    send(photo, "marks", part("front"))
    assert message in signed_in("ravi").get(f"/photo-fittings/{measuring.public_id}/").content.decode()


def test_a_lens_that_its_tilt_shortens_is_no_other_frame(measuring: PhotoMeasuring) -> None:
    tilted = usual_scene(frame=WornFrame(tilted_in_front_photo=True, pantoscopic_deg=16.0))
    marks = part("front") | {eye: true_marks(tilted)["front"][eye] for eye in ("right", "left")}
    answer = send(a_photo(measuring), "live", marks).json()
    assert "36.6" in answer["html"]
    assert "recorded is" not in answer["html"]


def test_the_frame_was_adjusted_before_the_photos_where_somebody_says_so(measuring: PhotoMeasuring) -> None:
    both_marked(measuring)
    use(measuring, ["pd_mm-right"], pre_adjusted="on")
    assert Fitting.objects.get().pre_adjusted


@pytest.mark.parametrize(("renewed", "readings"), [(True, 2), (False, 1)])
def test_photos_of_postures_taken_anew_count_as_readings_and_a_burst_counts_as_one(
    measuring: PhotoMeasuring, renewed: bool, readings: int
) -> None:
    other = json.loads(json.dumps(part("front")))
    other["left"]["pupil"][0] += 2
    other["extra"] = {"renewed": True} if renewed else {}
    a_photo(measuring, marks=part("front"), focal_percent=1.0)
    a_photo(measuring, marks={**other, "camera_pitch_sd_deg": 4.0})
    page = signed_in("ravi").get(f"/photo-fittings/{measuring.public_id}/").content.decode()
    assert ("2 marked photos together, 2 readings" if renewed else "2 marked photos together;") in page
    use(measuring, ["pd_mm-left", "height_mm-left"])
    fitting = Fitting.objects.get()
    kept = there(there(measured_from(photo_measurings().get())).fitting.left.height_mm).value
    height = there(fitting.figure("height_mm", "left"))
    assert height.reading_count == readings
    assert readings_of(fitting) == readings
    # The surer photo counts for more, so the figure is not the mean of its readings: nor once it is recorded again.
    assert float(height.value) == pytest.approx(kept, abs=0.006)
    assert float(FigureTaken.recorded(height).columns()["value"]) == float(height.value)


def test_the_fitting_names_whoever_marked_last(measuring: PhotoMeasuring) -> None:
    earlier = timezone.now() - timedelta(hours=1)
    a_photo(measuring, marks=part("front"), marked_by=person("ravi"), marked_at=earlier)
    a_photo(measuring, "side", marks=part("side"), marked_by=person("ines"), marked_at=timezone.now())
    use(measuring, ["pd_mm-right"])
    assert there(Fitting.objects.get().figure("pd_mm", "right")).taken_by == person("ines")


def test_two_photos_that_disagree_are_used_only_by_someone_who_read_so(measuring: PhotoMeasuring) -> None:
    a_photo(measuring, marks=part("front"))
    other = json.loads(json.dumps(part("front")))
    other["right"]["pupil"][0] -= 25
    a_photo(measuring, marks=other)
    page = use(measuring, ["pd_mm-left"]).content.decode()
    assert "disagree, more than their ± allows" in page
    assert "tick that you have read it" in page
    assert not Fitting.objects.exists()
    use(measuring, ["pd_mm-left"], despite="on")
    assert Fitting.objects.count() == 1


def test_a_photo_whose_pitch_no_sensor_told_gives_its_figures_with_a_wide_doubt_and_asks_for_no_tick(
    measuring: PhotoMeasuring,
) -> None:
    untold = {name: value for name, value in part("front").items() if name != "camera_pitch_deg"}
    a_photo(measuring, marks=untold)
    page = signed_in("ravi").get(f"/photo-fittings/{measuring.public_id}/").content.decode()
    assert "Take again</span>" not in page
    assert "Good to know</span><div><p>The right height is only known to ±" in page
    assert 'name="despite"' not in page
    use(measuring, ["height_mm-right"])
    assert there(there(Fitting.objects.get().figure("height_mm", "right")).plus_minus) > 2


def test_what_is_not_marked_is_to_be_marked_and_the_rest_can_be_used(measuring: PhotoMeasuring) -> None:
    half = json.loads(json.dumps(part("front")))
    del half["left"]["pupil"]
    a_photo(measuring, marks=half)
    page = signed_in("ravi").get(f"/photo-fittings/{measuring.public_id}/").content.decode()
    assert "Mark it</span><div><p>The left pupil mark is missing on the front photo: mark it." in page
    use(measuring, ["pd_mm-right"])
    assert Fitting.objects.get().figure("pd_mm", "left") is None


def test_a_side_photo_that_serves_two_front_photos_counts_once(measuring: PhotoMeasuring) -> None:
    a_photo(measuring, "side", marks=part("side"))
    a_photo(measuring, marks=part("front"))
    one = measured_from(photo_measurings().get())
    a_photo(measuring, marks=part("front"))
    two = measured_from(photo_measurings().get())
    assert one is not None
    assert two is not None
    assert two.fitting.pantoscopic_deg == one.fitting.pantoscopic_deg
    assert two.fitting.right.vertex_mm == one.fitting.right.vertex_mm


def test_a_photo_in_hand_is_measured_as_it_is_with_all_the_others(measuring: PhotoMeasuring) -> None:
    """The second front photo with the second side photo: on its own page as on that of the results."""
    deeper = part("side")
    deeper["cornea"] = [deeper["cornea"][0] - 40, deeper["cornea"][1]]
    fronts = [a_photo(measuring, marks=part("front")) for _ in range(2)]
    a_photo(measuring, "side", marks=part("side"))
    own_side = a_photo(measuring, "side", marks=deeper)
    photos = [photo_facts(photo, number) for number, photo in enumerate(measuring.photos.all(), start=1)]
    age = age_on(measuring.patient.born_on, timezone.localdate())
    groups = composed(photos, frame_facts(measuring.frame), measuring.near_distance_mm, age)
    assert [points_in_hand(photo) for photo in fronts] == [group.points for group in groups]
    assert groups[0].points.side != groups[1].points.side
    assert list(there(there(groups[1].points.side).cornea)) == deeper["cornea"]
    assert points_in_hand(own_side).front is None


def test_figures_outlive_the_picture_they_came_from(measuring: PhotoMeasuring) -> None:
    both_marked(measuring)
    before = measured_from(photo_measurings().get())
    for photo in measuring.photos.all():
        signed_in("ravi").post(f"/photos/{photo.public_id}/delete-picture/")
    assert measured_from(photo_measurings().get()) == before


@pytest.mark.parametrize(("years", "unlikely"), [(0, True), (40, False)])
def test_a_pd_from_photos_is_judged_by_the_wearers_age(measuring: PhotoMeasuring, years: int, unlikely: bool) -> None:
    """The figures are a grown person's."""
    a_photo(measuring, marks=part("front"))
    measuring.patient.born_on = timezone.localdate() - timedelta(days=30 + 366 * years)
    measuring.patient.save()
    found = there(measured_from(photo_measurings().get())).fitting
    assert ("binocular_pd_mm" in [one.figure for one in found.unlikely]) is unlikely
