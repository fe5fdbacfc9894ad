"""The pages of frames: finding, adding, correcting, and what is said about impossible sizes."""

from __future__ import annotations

import base64
import json
from decimal import Decimal
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from dispensing.models import AuditEvent, Frame
from dispensing.optics.shape_families import assumed_shape
from tests.builders import a_frame, a_patient
from tests.dispensing.traces import trace_file
from tests.known import there
from tests.people import Answer, signed_in

pytestmark = pytest.mark.django_db

SIZES = {"a_mm": "52", "b_mm": "38", "dbl_mm": "18", "ed_mm": "55"}
TYPED = {"model": "Alder", "mount": "full_rim", "in_stock": "1", **SIZES}
RADII = [round(float(radius), 2) for radius in assumed_shape(52, 38, 55, "panto", count=72).radii]


def add(changes: Any = None, username: str = "ravi", url: str | None = None) -> Answer:
    """As typed on the page of a new frame, or of one that was never changed."""
    return signed_in(username).post(url or reverse("frame-new"), TYPED | {"version": "1"} | (changes or {}))


def errors(response: Answer) -> dict[str, Any]:
    assert response.status_code == 200, "the frame was saved"
    return {name: " ".join(found) for name, found in response.context["form"].errors.items()}


def test_a_frame_is_added_with_its_sizes_and_stands_on_the_audit_trail() -> None:
    response = add({"a_mm": "52,5", "side_length_mm": "145 mm", "front_curve_d": "4.5 D"})
    frame = Frame.objects.get()
    assert response["Location"] == reverse("frame-page", args=[frame.public_id])
    assert (frame.a_mm, frame.side_length_mm, frame.front_curve_d) == (Decimal("52.5"), 145, Decimal("4.5"))
    assert AuditEvent.objects.get().verb == "frame.add"


def test_the_front_desk_may_look_at_frames_and_not_change_them() -> None:
    frame = a_frame()
    desk = signed_in("dora")
    assert desk.get(reverse("frame-list")).status_code == 200
    assert desk.get(reverse("frame-page", args=[frame.public_id])).status_code == 200
    assert desk.get(reverse("frame-correct", args=[frame.public_id])).status_code == 403
    assert add(username="dora").status_code == 403


BAD_SIZES = [
    ({"ed_mm": "50"}, "ed_mm", "ED of 50 mm is smaller than A (52 mm)"),
    ({"ed_mm": "70"}, "ed_mm", "at most 64.4 mm can be, its diagonal"),
    ({"b_mm": "380"}, "b_mm", "Is it in mm? Did you mean 38.0?"),
    ({"a_mm": "5.2"}, "a_mm", "Did you mean 52.0?"),
    ({"dbl_mm": "wide"}, "dbl_mm", "not a number"),
    ({"model": "M" * 300}, "model", "300 characters; at most 100 fit"),
    ({"b_mm": "56", "ed_mm": "54"}, "ed_mm", "smaller than B (56 mm)"),
]


@pytest.mark.parametrize(("changes", "field", "words"), BAD_SIZES)
def test_sizes_that_cannot_be_are_told_beside_the_field_and_keep_what_was_typed(
    changes: dict[str, Any], field: str, words: str
) -> None:
    response = add(changes)
    assert list(errors(response)) == [field]
    assert words in errors(response)[field]
    typed = next(iter(changes))
    assert f'value="{changes[typed]}"' in response.content.decode()
    assert not Frame.objects.exists()


def test_a_name_in_another_script_is_kept() -> None:
    add({"model": "מסגרת אלון", "colour": "Bleu pe\u0301trole"})
    frame = Frame.objects.get()
    assert (frame.model, frame.colour) == ("מסגרת אלון", "Bleu p\u00e9trole")


def test_a_shape_from_pasted_radii_fills_the_sizes_nobody_typed() -> None:
    add({"a_mm": "", "b_mm": "", "ed_mm": "", "radii": " ".join(map(str, RADII))})
    frame = Frame.objects.get()
    assert (frame.a_mm, frame.b_mm) == (Decimal("52.00"), Decimal("38.00"))
    assert frame.ed_mm == pytest.approx(Decimal("55"), abs=Decimal("0.02"))
    assert (frame.shape_origin, len(there(frame.radii_mm))) == ("radii", 72)


def test_a_shape_wider_than_the_typed_size_is_asked_about_and_may_be_kept() -> None:
    changes = {"a_mm": "52.6", "radii": " ".join(map(str, RADII))}
    response = add(changes)
    assert "A is typed as 52.6 mm; the shape is 52.0 mm" in errors(response)["a_mm"]
    add(changes | {"keep_difference": "on"})
    assert Frame.objects.get().a_mm == Decimal("52.6")


def test_half_a_millimetre_between_size_and_shape_is_not_asked_about() -> None:
    assert add({"a_mm": "52.5", "radii": " ".join(map(str, RADII))}).status_code == 302


def trace(data: Any = None, name: str = "frame.trc") -> dict[str, Any]:
    return {"trace": SimpleUploadedFile(name, data or trace_file(RADII, more=["DBL=18.00", "FCRV=5.10;5.20"]))}


def test_a_tracers_file_gives_the_shape_and_what_else_it_states() -> None:
    add(trace() | {"dbl_mm": ""})
    frame = Frame.objects.get()
    assert (frame.shape_origin, len(there(frame.radii_mm))) == ("trace", 72)
    assert (frame.dbl_mm, frame.front_curve_d) == (Decimal("18"), Decimal("5.1"))


def test_a_size_that_was_typed_is_never_overwritten_by_the_file() -> None:
    add(trace() | {"dbl_mm": "17"})
    assert Frame.objects.get().dbl_mm == Decimal("17")


def test_a_file_of_another_format_is_refused_beside_the_file() -> None:
    response = add(trace(b"%PDF-1.7 not a trace", "order.pdf"))
    assert "cannot be used as a trace" in errors(response)["trace"]


def test_a_file_far_too_large_for_a_trace_is_refused_unread() -> None:
    assert "200 kB at most" in errors(add(trace(b"R=2600\r\n" * 30_000)))["trace"]


def test_a_trace_once_read_is_not_lost_when_something_else_is_wrong() -> None:
    response = add(trace() | {"ed_mm": "50"})
    form = response.context["form"]
    assert list(errors(response)) == ["ed_mm"]
    again = {name: form[name].value() for name in ("radii", "shape_origin")}
    add(again)
    assert (Frame.objects.get().shape_origin, len(there(Frame.objects.get().radii_mm))) == ("trace", 72)


def test_correcting_a_frame_records_the_old_and_the_new_size() -> None:
    frame = a_frame()
    url = reverse("frame-correct", args=[frame.public_id])
    add({"b_mm": "39", "stock_number": frame.stock_number, "colour": frame.colour}, url=url)
    event = AuditEvent.objects.get()
    assert (event.verb, event.changes) == ("frame.change", {"b_mm": ["38.00", "39"]})


def test_saving_a_frame_unchanged_keeps_its_shape_to_the_last_digit_and_records_nothing() -> None:
    radii = [radius + 0.001 for radius in RADII]
    frame = a_frame(radii_mm=radii, shape_origin="trace")
    client = signed_in("ravi")
    url = reverse("frame-correct", args=[frame.public_id])
    form = client.get(url).context["form"]
    shown = {name: form[name].value() for name in form.fields if name not in ("trace", "withdrawn", "keep_difference")}
    client.post(url, {name: "" if value is None else value for name, value in shown.items()})
    frame.refresh_from_db()
    assert (frame.radii_mm, frame.shape_origin) == (radii, "trace")
    assert not AuditEvent.objects.exists()


def test_the_second_of_two_people_correcting_a_frame_is_told_and_shown_both() -> None:
    frame = a_frame(colour="Sand")
    url = reverse("frame-correct", args=[frame.public_id])
    seen = signed_in("ravi").get(url).context["version"]
    kept = {"stock_number": frame.stock_number, "colour": frame.colour, "version": seen}
    assert signed_in("ines").post(url, TYPED | kept | {"b_mm": "39"}).status_code == 302
    late = signed_in("ravi").post(url, TYPED | kept | {"colour": "Moss"})
    [told] = late.context["form"].non_field_errors()
    assert "Ines Holloway changed this frame" in told
    assert "B is now 39.00, here 38" in told
    assert "colour is now Sand, here Moss" in told
    again = signed_in("ravi").post(url, TYPED | kept | {"colour": "Moss", "version": late.context["version"]})
    frame.refresh_from_db()
    assert (again.status_code, frame.b_mm, frame.colour) == (302, Decimal("38"), "Moss")


@pytest.mark.parametrize("version", ["", "none", "-1", "0", "9" * 40, "²"])
def test_a_page_that_names_no_version_of_the_frame_overwrites_nothing(version: str) -> None:
    frame = a_frame()
    answer = add({"version": version, "b_mm": "39"}, url=reverse("frame-correct", args=[frame.public_id]))
    assert "somebody changed this frame" in errors(answer)["__all__"]
    frame.refresh_from_db()
    assert (frame.b_mm, frame.version) == (Decimal("38"), 1)


def test_the_line_ends_a_browser_sends_are_no_change_of_the_shape() -> None:
    radii = [radius + 0.0004 for radius in RADII]
    frame = a_frame(radii_mm=radii, shape_origin="trace")
    url = reverse("frame-correct", args=[frame.public_id])
    shown = signed_in("ravi").get(url).context["form"]["radii"].value()
    add({"radii": shown.replace("\n", "\r\n"), "shape_origin": "trace", "colour": "Moss"}, url=url)
    frame.refresh_from_db()
    assert (frame.colour, frame.radii_mm) == ("Moss", radii)


def test_the_shape_of_a_frame_can_be_taken_off_again() -> None:
    frame = a_frame(radii_mm=RADII, shape_origin="radii")
    add({"radii": ""}, url=reverse("frame-correct", args=[frame.public_id]))
    frame.refresh_from_db()
    assert (frame.radii_mm, frame.shape_origin) == (None, "")


def test_a_patients_own_frame_belongs_to_the_patient_and_not_to_the_stock() -> None:
    patient = a_patient()
    add({"condition": "left side loose"}, url=reverse("frame-own-new", args=[patient.public_id]))
    frame = Frame.objects.get()
    assert (frame.owner, frame.condition, frame.in_stock) == (patient, "left side loose", 0)
    assert AuditEvent.objects.get().patient == patient
    assert signed_in("ravi").get(reverse("frame-list")).context["page"].rows == []


FOUND_BY = ["alder", "ALD", "f77", "52-18", "52□18", "52/18", "52x18", "alder 52-18", "ink", "52"]


@pytest.mark.parametrize("text", FOUND_BY)
def test_a_frame_is_found_by_model_stock_number_colour_or_size(text: str) -> None:
    a_frame(stock_number="F77")
    a_frame(model="Bracken", stock_number="F78", a_mm=54, dbl_mm=16, colour="Sand")
    rows = signed_in("dora").get(reverse("frame-list"), {"text": text}).context["page"].rows
    assert [frame.stock_number for frame in rows] == ["F77"]


def test_frames_are_found_by_mount_and_withdrawn_ones_only_when_asked_for() -> None:
    a_frame(stock_number="F1", mount="grooved")
    a_frame(stock_number="F2", mount="grooved", withdrawn=True)
    a_frame(stock_number="F3")

    def found(**search: Any) -> list[Any]:
        rows = signed_in("dora").get(reverse("frame-list"), search).context["page"].rows
        return [frame.stock_number for frame in rows]

    assert found(mount="grooved") == ["F1"]
    assert found(mount="grooved", withdrawn="on") == ["F1", "F2"]


def test_every_frame_is_on_exactly_one_page() -> None:
    for number in range(120):
        a_frame(model=f"Model {number % 7}", stock_number=f"F{number}")
    client, after, seen = signed_in("dora"), "", []
    while True:
        page = client.get(reverse("frame-list"), {"after": after}).context["page"]
        seen += [frame.stock_number for frame in page.rows]
        after = page.next_key
        if not after:
            break
    assert (len(seen), len(set(seen))) == (120, 120)


def key(values: Any) -> str:
    return base64.urlsafe_b64encode(json.dumps(values).encode()).decode().rstrip("=")


UNREADABLE = ["x", "🕶", "bm90IGpzb24", key([]), key({"a": 1}), key(["a", "b"]), key(["a\x00", 1]), key(["a", [1]])]


@pytest.mark.parametrize("after", UNREADABLE)
def test_a_page_key_that_cannot_be_read_gives_the_first_page(after: Any) -> None:
    a_frame()
    assert len(signed_in("dora").get(reverse("frame-list"), {"after": after}).context["page"].rows) == 1


def test_a_page_key_beyond_every_frame_gives_an_empty_page() -> None:
    a_frame()
    for beyond in (key(["zzz", 1]), key(["Alder", 10**30])):
        assert signed_in("dora").get(reverse("frame-list"), {"after": beyond}).context["page"].rows == []


def test_a_list_of_frames_needs_as_many_queries_for_fifty_as_for_one(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    a_frame()
    client = signed_in("dora")
    client.get(reverse("frame-list"))
    with django_assert_num_queries(5):
        client.get(reverse("frame-list"))
    for _ in range(60):
        a_frame()
    with django_assert_num_queries(5):
        client.get(reverse("frame-list"))


def test_the_drawing_follows_what_is_typed_and_reads_a_chosen_file() -> None:
    url = reverse("frame-preview")
    client = signed_in("ravi")
    drawn = client.post(url, {"a_mm": "52", "b_mm": "38"}, headers={"HX-Request": "true"}).content.decode()
    assert "A 52.0" in drawn
    read = client.post(url, trace(), headers={"HX-Request": "true"}).content.decode()
    assert f"{RADII[0]:g}" in read
    assert 'hx-swap-oob="true"' in read


def test_a_frame_whose_name_looks_like_markup_is_shown_as_its_name() -> None:
    frame = a_frame(model="<script>alert(1)</script>")
    page = signed_in("dora").get(reverse("frame-page", args=[frame.public_id])).content.decode()
    assert "<script>alert(1)" not in page


def test_a_material_nobody_knows_is_called_so() -> None:
    page = signed_in("ravi").get(reverse("frame-new")).content.decode()
    assert '<option value="" selected>Not known</option>' in page
    assert "---" not in page
