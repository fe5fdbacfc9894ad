"""A drawn photo goes through the page as a real one does: taken in, marked by hand, measured, recorded as a fitting."""

from __future__ import annotations

import io
import math
import re
from typing import Any

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser, FilePayload, Page, Route, expect
from pytest_django.live_server_helper import LiveServer

from dispensing.models import FittingPhoto, PhotoMeasuring
from dispensing.services.photo_fittings import add_photo, start_measuring
from tests.accessibility import no_faults_at_both_widths
from tests.browser import DESK, sign_in
from tests.builders import a_frame, a_patient
from tests.dispensing.photo_fittings.pointing import Hand
from tests.dispensing.photo_fittings.rendered import front_jpeg, side_jpeg, true_marks, usual_scene
from tests.fitting.painted_card import PaintedCard
from tests.fitting.painted_face import PaintedFace
from tests.fitting.simulate import HEIGHT_PX, WIDTH_PX
from tests.known import there
from tests.people import person

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SCENE = usual_scene()
TRUE = true_marks(SCENE)
FRONT, SIDE = (WIDTH_PX, HEIGHT_PX), (3000, 4000)


@pytest.fixture(scope="module")
def front() -> bytes:
    return front_jpeg(SCENE)


@pytest.fixture
def measuring() -> PhotoMeasuring:
    return start_measuring(actor=person("ravi"), patient=a_patient(), frame=a_frame(), near_distance_mm=400)


@pytest.fixture
def front_photo(measuring: PhotoMeasuring, front: bytes) -> FittingPhoto:
    return add_photo(actor=person("ravi"), measuring=measuring, view="front", content=front)


def open_to_mark(page: Page, photo: FittingPhoto, *, proposed: bool = False) -> None:
    """Ready to be marked: by hand, with nothing proposed meanwhile, unless ``proposed`` is."""
    sign_in(page, "ravi")
    if not proposed:
        page.route("**/proposals/", lambda route: route.fulfill(json={"proposals": []}))
    page.goto(f"/photos/{photo.public_id}/mark/")
    page.wait_for_selector("[data-ready=yes]")


def sides(marks: dict[str, Any]) -> dict[str, float]:
    """Temporal, nasal, top and bottom of a box that is not turned."""
    across = {side: marks[side][0] for side in ("temporal", "nasal")}
    return across | {side: marks[side][1] for side in ("top", "bottom")}


def all_saved(page: Page) -> None:
    expect(page.locator("#saved")).to_have_text("All marks are saved.")


def told(page: Page, label: str) -> list[tuple[float, float]]:
    """The figures of one line of the results, each with its ±."""
    row = page.locator("#told tr", has=page.get_by_role("rowheader", name=re.compile(f"^{label}")))
    cells = row.locator("td").all_inner_texts()
    figures = [[float(part) for part in cell.replace("±", " ").split()] for cell in cells]
    return [(value, plus_minus) for value, plus_minus in figures]


def holds_the_truth(figures: list[tuple[float, float]], truth: list[float]) -> None:
    assert len(figures) == len(truth)
    for (value, plus_minus), true in zip(figures, truth):
        assert abs(value - true) <= plus_minus, f"{value} ± {plus_minus} does not hold {true}"


def the_figures_hold_the_truth(page: Page) -> None:
    wearer, frame = SCENE.wearer, SCENE.frame
    holds_the_truth(told(page, "PD"), [wearer.pd_right_mm, wearer.pd_left_mm])
    holds_the_truth(told(page, "Height"), [wearer.height_right_mm, wearer.height_left_mm])
    holds_the_truth(told(page, "A, as boxed"), [frame.a_mm, frame.a_mm])
    holds_the_truth(told(page, "B, as boxed"), [frame.b_mm, frame.b_mm])
    holds_the_truth(told(page, "DBL"), [frame.dbl_mm])


def mark_by_mouse(page: Page) -> None:
    """Boxes drawn roughly on the whole photo, their sides then pulled into place enlarged; pupils pressed enlarged."""
    hand = Hand(page, FRONT)
    for eye in ("right", "left"):
        box = sides(TRUE["front"][eye])
        west, east = sorted((box["temporal"], box["nasal"]))
        hand.pull([west - 20, box["top"] - 15], [east + 20, box["bottom"] + 15])
    for eye in ("right", "left"):
        marks = TRUE["front"][eye]
        hand.refresh()
        hand.enlarge(marks["pupil"], 12)
        hand.press(marks["pupil"])
    for eye in ("right", "left"):
        marks = TRUE["front"][eye]
        box = sides(marks)
        outwards = -20 if eye == "right" else 20
        middle = [(box["temporal"] + box["nasal"]) / 2, (box["top"] + box["bottom"]) / 2]
        drawn = {
            "temporal": [box["temporal"] + outwards, middle[1]],
            "nasal": [box["nasal"] - outwards, middle[1]],
            "top": [middle[0], box["top"] - 15],
            "bottom": [middle[0], box["bottom"] + 15],
        }
        for side, start in drawn.items():
            hand.refresh()
            hand.enlarge(start, 12)
            end = [box[side], start[1]] if side in ("temporal", "nasal") else [start[0], box[side]]
            hand.pull(start, end)


def test_a_photo_marked_with_the_mouse_measures_the_wearer_within_its_plus_minus(
    page: Page, front_photo: FittingPhoto
) -> None:
    open_to_mark(page, front_photo)
    mark_by_mouse(page)
    all_saved(page)
    the_figures_hold_the_truth(page)
    stored = FittingPhoto.objects.get().marks
    for eye in ("right", "left"):
        assert stored[eye]["pupil"] == pytest.approx(TRUE["front"][eye]["pupil"], abs=1)
        assert stored[eye]["nasal"][0] == pytest.approx(TRUE["front"][eye]["nasal"][0], abs=1)


def type_marks(page: Page) -> None:
    """Without a mouse: numbers typed for the boxes, the pupils put with Enter and moved with the arrow keys."""
    for eye, heading in (("right", "Right lens"), ("left", "Left lens")):
        page.locator(f"[data-select='{eye}.box']").press("Enter")
        for side, value in sides(TRUE["front"][eye]).items():
            page.keyboard.press("Tab")
            expect(page.locator(":focus")).to_have_attribute("aria-label", re.compile(f"{heading}, {side}"))
            page.keyboard.type(f"{value:.1f}")
    for eye, heading in (("right", "Right lens"), ("left", "Left lens")):
        page.locator(f"[data-select='{eye}.pupil']").press("Enter")
        page.locator("#canvas").focus()
        page.keyboard.press("Enter")
        # In the middle of what is shown, which may be a lens that was proposed before.
        put = [page.get_by_label(f"Pupil, {heading}: {way}, px") for way in ("across", "down")]
        expect(put[0]).not_to_have_value("")
        walk(page, [float(one.input_value()) for one in put], TRUE["front"][eye]["pupil"])
    # The drawn front is flat; left empty, the page would take it as bent as most fronts are.
    page.get_by_label("Face form, measured").fill("0")


def walk(page: Page, start: list[float], end: list[float]) -> None:
    """Arrow keys alone: tens, ones, tenths."""
    for axis, (back, on) in enumerate((("ArrowLeft", "ArrowRight"), ("ArrowUp", "ArrowDown"))):
        way = round(10 * (end[axis] - start[axis]))
        for held, size in (("Control+", 100), ("Shift+", 10), ("", 1)):
            steps = int(abs(way) / size)
            for _ in range(steps):
                page.keyboard.press(held + (on if way > 0 else back))
            way -= steps * size * (1 if way > 0 else -1)


def test_a_photo_marked_with_the_keyboard_alone_measures_the_same_and_survives_a_reload(
    page: Page, front_photo: FittingPhoto
) -> None:
    open_to_mark(page, front_photo)
    type_marks(page)
    all_saved(page)
    the_figures_hold_the_truth(page)
    pupil = page.get_by_label("Pupil, Right lens: across, px").input_value()
    assert float(pupil) == pytest.approx(TRUE["front"]["right"]["pupil"][0], abs=0.11)
    page.reload()
    page.wait_for_selector("[data-ready=yes]")
    expect(page.get_by_label("Pupil, Right lens: across, px")).to_have_value(pupil)
    the_figures_hold_the_truth(page)


def test_figures_follow_a_mark_while_it_is_pulled_with_one_question_on_its_way_at_a_time(
    page: Page, front_photo: FittingPhoto
) -> None:
    open_to_mark(page, marked(front_photo, face_form_deg=0.0))
    hand, pupil = Hand(page, FRONT), TRUE["front"]["right"]["pupil"]
    hand.enlarge(pupil, 8)
    on_their_way, most, asked = 0, 0, 0

    def begun(request: Any) -> None:
        nonlocal on_their_way, most, asked
        if request.url.endswith("/live/"):
            on_their_way, asked = on_their_way + 1, asked + 1
            most = max(most, on_their_way)

    def ended(request: Any) -> None:
        nonlocal on_their_way
        on_their_way -= request.url.endswith("/live/")

    page.on("request", begun)
    page.on("requestfinished", ended)
    x, y = hand.on_screen(pupil)
    page.mouse.move(x, y)
    page.mouse.down()
    before = page.locator("#summary").inner_text()
    for step in range(1, 31):
        page.mouse.move(x - step, y)
    # Told while the button is still down, and nothing is saved yet.
    expect(page.locator("#summary")).not_to_have_text(before)
    assert FittingPhoto.objects.get().version == 0
    moved_mm = 30 / hand.scale * SCENE.camera.distance_mm / SCENE.camera.focal_px
    about = SCENE.wearer.pd_right_mm + moved_mm * (1 + SCENE.wearer.stop_mm() / SCENE.camera.distance_mm)
    told_at_the_end = re.compile("|".join(f"PD {about + tenths / 10:.1f}" for tenths in range(-2, 3)))
    expect(page.locator("#summary")).to_have_text(told_at_the_end)
    page.mouse.up()
    all_saved(page)
    expect(page.locator("#summary")).to_have_text(told_at_the_end)
    assert most == 1
    assert 1 <= asked <= 32


def test_undo_takes_back_step_by_step_and_redo_brings_again(page: Page, front_photo: FittingPhoto) -> None:
    open_to_mark(page, front_photo)
    page.locator("#canvas").focus()
    page.keyboard.press("Enter")
    across = page.get_by_label("Right lens, temporal side: across, px")
    put = across.input_value()
    page.keyboard.press("Shift+ArrowRight")
    expect(across).to_have_value(f"{float(put) + 1:.1f}")
    page.keyboard.press("Control+z")
    expect(across).to_have_value(put)
    page.keyboard.press("Control+z")
    expect(across).to_have_value("")
    page.get_by_role("button", name="Redo").click()
    page.get_by_role("button", name="Redo").click()
    expect(across).to_have_value(f"{float(put) + 1:.1f}")
    all_saved(page)


@pytest.fixture
def side_photo(measuring: PhotoMeasuring) -> FittingPhoto:
    return add_photo(actor=person("ravi"), measuring=measuring, view="side", content=side_jpeg(SCENE))


def test_a_side_photo_gives_tilt_and_vertex_distance_with_the_frame_s_own_depth_as_scale(
    page: Page, side_photo: FittingPhoto
) -> None:
    open_to_mark(page, side_photo)
    page.get_by_label("The scale comes from").select_option("rims")
    hand = Hand(page, SIDE)
    places = [TRUE["side"][name] for name in ("rim_top", "rim_bottom", "cornea")]
    for place in (*places, *TRUE["side"]["level"]):
        hand.refresh()
        hand.enlarge(place, 20)
        hand.press(place)
    all_saved(page)
    holds_the_truth(told(page, "Vertex distance"), [SCENE.wearer.vertex_mm])
    holds_the_truth(told(page, "Pantoscopic tilt"), [SCENE.frame.pantoscopic_deg])
    assert FittingPhoto.objects.get().marks["scale"]["length_mm"] == 38.0


def test_two_presses_lead_from_an_untouched_photo_to_its_figures_and_nothing_is_taken_before(
    page: Page, front_photo: FittingPhoto
) -> None:
    open_to_mark(page, front_photo, proposed=True)
    look = page.get_by_role("group", name="Look at what is proposed")
    expect(look).to_contain_text("Right lens: the pupil (99 %) and the box proposed.")
    expect(page.get_by_label("Pupil, Right lens: across, px")).to_have_value("")
    assert FittingPhoto.objects.get().marks == {}
    take = look.get_by_role("button", name="Take")
    for lens in ("Right lens", "Left lens"):
        expect(look).to_contain_text(lens)
        expect(take).to_be_focused()
        page.keyboard.press("Enter")
    expect(look).to_be_hidden()
    all_saved(page)
    # The drawn front is flat, which nobody measured; all else holds.
    holds_the_truth(told(page, "PD"), [SCENE.wearer.pd_right_mm, SCENE.wearer.pd_left_mm])
    holds_the_truth(told(page, "Height"), [SCENE.wearer.height_right_mm, SCENE.wearer.height_left_mm])
    stored = FittingPhoto.objects.get().marks
    for eye in ("right", "left"):
        assert stored[eye]["pupil"] == pytest.approx(TRUE["front"][eye]["pupil"], abs=1)
        # The drawn rim is set to whole pixels.
        assert stored[eye]["bottom"][1] == pytest.approx(TRUE["front"][eye]["bottom"][1], abs=1.5)
    # N goes on from a box through its sides; asked for again, nothing that is set is proposed.
    page.locator("[data-select='left.box']").click()
    page.locator("#canvas").focus()
    page.keyboard.press("n")
    page.keyboard.press("Shift+ArrowRight")
    moved = page.get_by_label("Left lens, temporal side: across, px")
    expect(moved).to_have_value(f"{stored['left']['temporal'][0] + 1:.1f}")
    page.get_by_role("button", name="Find the marks").click()
    expect(page.get_by_text("Nothing is surely found on this photo")).to_be_visible()
    # What is taken off while the server still looks stays off when its answer comes.
    held: list[Route] = []
    page.route("**/proposals/", lambda route: held.append(route))  # Playwright wants a function
    with page.expect_request("**/proposals/"):
        page.get_by_role("button", name="Find the marks").click()
    page.locator("[data-select='left.pupil']").click()
    page.locator("#canvas").focus()
    page.keyboard.press("Delete")
    page.locator("#now").evaluate("now => now.textContent = ''")
    held[0].continue_()
    expect(page.get_by_text("Nothing is surely found on this photo")).to_be_visible()
    expect(page.get_by_label("Pupil, Left lens: across, px")).to_have_value("")
    expect(look).to_be_hidden()


def test_a_card_is_looked_at_by_itself_and_gives_the_scale_once_it_is_taken(
    page: Page, measuring: PhotoMeasuring
) -> None:
    card = PaintedCard(x_mm=4, y_mm=-72, lean_deg=3)
    face = PaintedFace(size=(1000, 960), middle=(500.0, 450.0), card=card)
    picture = io.BytesIO()
    Image.fromarray(face.paint(np.random.default_rng(0))).save(picture, "PNG")
    photo = add_photo(actor=person("ravi"), measuring=measuring, view="front", content=picture.getvalue())
    photo.marks = {"gaze": "camera", "scale": {"by": "card", "in_front_of_lens_plane_mm": 0.0}}
    photo.save()
    open_to_mark(page, photo, proposed=True)
    look = page.get_by_role("group", name="Look at what is proposed")
    for words in ("Right lens", "Left lens", "Card: the middles of both short sides proposed"):
        expect(look).to_contain_text(words)
        assert "ends" not in FittingPhoto.objects.get().marks["scale"]
        expect(look.get_by_role("button", name="Take")).to_be_focused()
        page.keyboard.press("Enter")
    expect(look).to_be_hidden()
    all_saved(page)
    ends = FittingPhoto.objects.get().marks["scale"]["ends"]
    assert math.dist(*ends) == pytest.approx(85.60 * face.px_per_mm, rel=0.0025)
    assert told(page, "A, as boxed")[0][0] == pytest.approx(face.a_mm, abs=1)


BOX = ("nasal", "temporal", "top", "bottom")


def marked(photo: FittingPhoto, **marks: Any) -> FittingPhoto:
    whole = {eye: TRUE["front"][eye] for eye in ("right", "left")}
    photo.marks = {"gaze": "camera", "scale": {"by": "frame"}} | whole | marks
    photo.save()
    return photo


def test_the_second_of_two_people_is_told_on_the_page_and_chooses(page: Page, front_photo: FittingPhoto) -> None:
    open_to_mark(page, marked(front_photo))
    FittingPhoto.objects.update(version=5, marked_by=person("ines"), marks={"gaze": "far"})
    pupil = page.get_by_label("Pupil, Right lens: across, px")
    pupil.press("ArrowUp")
    expect(page.get_by_role("alert").last).to_contain_text("Ines Holloway has changed the marks")
    expect(pupil).not_to_have_value("")
    page.get_by_role("button", name="Take their marks").click()
    expect(pupil).to_have_value("")
    expect(page.get_by_label("at something far, straight ahead")).to_be_checked()
    all_saved(page)


def test_marks_wait_on_the_page_while_the_server_cannot_be_reached(
    chromium: Browser, live_server: LiveServer, front_photo: FittingPhoto
) -> None:
    # A page of its own: here the browser may log that it reached nobody.
    context = chromium.new_context(base_url=live_server.url, viewport=DESK)
    page = context.new_page()
    open_to_mark(page, marked(front_photo))
    context.set_offline(True)
    pupil = page.get_by_label("Pupil, Right lens: across, px")
    pupil.press("ArrowUp")
    moved = float(pupil.input_value())
    expect(page.get_by_role("alert").last).to_contain_text("Your marks are still here")
    context.set_offline(False)
    all_saved(page)
    context.close()
    assert FittingPhoto.objects.get().marks["right"]["pupil"][0] == pytest.approx(moved, abs=0.06)


def test_the_boxes_turn_with_a_head_that_leans(page: Page, front_photo: FittingPhoto) -> None:
    """A box stands square to the frame: turned with it, its own width stays what it was."""
    leaning = {eye: {name: lean(TRUE["front"][eye][name]) for name in (*BOX, "pupil")} for eye in ("right", "left")}
    open_to_mark(page, marked(front_photo, **leaning))
    expect(page.get_by_label("Boxes turned, °")).to_have_value("1.5")
    holds_the_truth(told(page, "A, as boxed"), [52.0, 52.0])
    page.get_by_label("Boxes turned, °").fill("0")
    all_saved(page)
    page.get_by_role("button", name="Turn boxes with the frame").click()
    expect(page.get_by_label("Boxes turned, °")).to_have_value("1.5")


def lean(point: list[float], degrees: float = 1.5) -> list[float]:
    angle = math.radians(degrees)
    x, y = point[0] - WIDTH_PX / 2, point[1] - HEIGHT_PX / 2
    return [
        WIDTH_PX / 2 + x * math.cos(angle) - y * math.sin(angle),
        HEIGHT_PX / 2 + x * math.sin(angle) + y * math.cos(angle),
    ]


def test_a_suspect_mark_is_one_press_away(page: Page, front_photo: FittingPhoto) -> None:
    slipped = {**TRUE["front"]["left"], "nasal": [TRUE["front"]["left"]["nasal"][0] - 40, 1458.0]}
    open_to_mark(page, marked(front_photo, left=slipped))
    expect(page.locator("[data-row='left.box']")).to_contain_text("look here first")
    page.get_by_role("button", name="Go to that mark").first.click()
    expect(page.locator("[data-row='left.box'] [data-select]")).to_have_attribute("aria-pressed", "true")
    expect(page.locator("#canvas")).to_be_focused()


def pages_of(measuring: PhotoMeasuring) -> list[str]:
    patient, frame = measuring.patient.public_id, measuring.frame.public_id
    marking = [f"/photos/{photo.public_id}/mark/" for photo in measuring.photos.all()]
    return [
        f"/patients/{patient}/photo-fittings/new/{frame}/",
        f"/photo-fittings/{measuring.public_id}/",
        *marking,
        "/",
        f"/patients/{patient}/",
    ]


def test_no_page_of_measuring_from_photos_has_a_fault_of_accessibility(
    page: Page, measuring: PhotoMeasuring, front_photo: FittingPhoto, side_photo: FittingPhoto
) -> None:
    slipped = {**TRUE["front"]["left"], "nasal": [TRUE["front"]["left"]["nasal"][0] - 40, 1458.0]}
    marked(front_photo, left=slipped)
    sign_in(page, "ravi")
    for address in pages_of(measuring):
        page.goto(address)
        if address.endswith("/mark/"):
            page.wait_for_selector("[data-ready=yes]")
            page.get_by_text("Keys for marking").click()
        no_faults_at_both_widths(page)


def test_on_a_telephone_a_pupil_is_put_with_a_finger_after_enlarging_with_two(
    narrow_page: Page, front_photo: FittingPhoto
) -> None:
    boxes = {eye: {name: TRUE["front"][eye][name] for name in BOX} for eye in ("right", "left")}
    front_photo.marks = {"gaze": "camera", "scale": {"by": "frame"}} | boxes
    front_photo.save()
    open_to_mark(narrow_page, front_photo)
    hand = Hand(narrow_page, FRONT)
    true = TRUE["front"]["right"]["pupil"]
    fingers = narrow_page.context.new_cdp_session(narrow_page)

    def touch(kind: str, *points: tuple[float, float]) -> None:
        touched = [{"x": x, "y": y, "id": number} for number, (x, y) in enumerate(points)]
        fingers.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": touched})

    x, y = (round(value) for value in hand.on_screen(true))
    touch("touchStart", (x - 10, y))
    touch("touchStart", (x - 10, y), (x + 10, y))
    for wide in range(10, 121, 10):
        touch("touchMove", (x - wide, y), (x + wide, y))
    touch("touchEnd")
    whole = hand.scale
    expect(narrow_page.locator("#zoomed")).to_have_text(f"{math.floor(100 * whole * 12 + 0.5)} %")
    expect(narrow_page.get_by_label("Pupil, Right lens: across, px")).to_have_value("")
    touch("touchStart", (x, y))
    expect(narrow_page.locator("#magnifier")).to_be_visible()
    touch("touchEnd")
    all_saved(narrow_page)
    # Both fingers stood round this place, so it stayed under them: the finger put it there to two screen pixels.
    held = hand.on_photo((x, y))
    assert FittingPhoto.objects.get().marks["right"]["pupil"] == pytest.approx(held, abs=2 / (12 * whole))


def test_from_the_patient_s_page_to_a_fitting_with_its_plus_minus(page: Page, front: bytes) -> None:
    """Choose the frame, hand in the photo as a file, look at each lens once, use the figures."""
    patient, frame = a_patient(), a_frame(model="Rowan")
    sign_in(page, "ravi")
    page.goto(f"/patients/{patient.public_id}/")
    page.get_by_role("link", name="Measure from photos").click()
    page.get_by_role("link", name="Rowan").click()
    page.get_by_role("button", name="Take the photos").click()
    upload: FilePayload = {"name": "IMG_0042.JPG", "mimeType": "image/jpeg", "buffer": front}
    page.locator("#take-photo input[type=file]").set_input_files(files=[upload])
    page.get_by_role("button", name="Take in and mark").click()
    for lens in ("Right lens", "Left lens"):
        expect(page.get_by_role("group", name="Look at what is proposed")).to_contain_text(lens)
        expect(page.get_by_role("button", name="Yes, take them")).to_be_focused()
        page.keyboard.press("Enter")
    # What no photo shows: the drawn front is flat, and the camera looked level.
    page.get_by_label("Face form, measured").fill("0")
    page.get_by_label("Camera pointed up by").fill("0")
    all_saved(page)
    page.get_by_role("link", name="To the results").click()
    expect(page.get_by_role("checkbox", name="Monocular PD, right")).to_be_checked()
    page.get_by_role("button", name="Use these figures").click()
    expect(page.get_by_text("The figures are recorded as a fitting.")).to_be_visible()
    # The practice shows halves of a millimetre; what is kept is not rounded to them.
    expect(page.get_by_role("row", name=re.compile("Monocular PD"))).to_contain_text("32.5 ± 1.")
    fitting = frame.fittings.get()
    pd = there(fitting.figure("pd_mm", "right"))
    assert float(pd.value) == pytest.approx(SCENE.wearer.pd_right_mm, abs=0.3)
    assert 1.0 < float(there(pd.plus_minus)) < 2.2
    assert {row.method for row in fitting.measurements.all()} == {"photo", "calculated"}
