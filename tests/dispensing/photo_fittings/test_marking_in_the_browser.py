"""A drawn photo goes through the page as a real one does: taken in, marked by hand, measured, recorded as a fitting."""

from __future__ import annotations

import re
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from dispensing.models import Fitting, FittingPhoto, PhotoMeasuring
from dispensing.services.photo_fittings import add_photo, start_measuring
from tests.builders import a_frame, a_patient
from tests.dispensing.photo_fittings.pointing import Hand
from tests.dispensing.photo_fittings.rendered import front_jpeg, side_jpeg, true_marks, usual_scene
from tests.dispensing.test_pages_in_the_browser import no_faults, sign_in
from tests.fitting.simulate import HEIGHT_PX, WIDTH_PX
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


def open_to_mark(page: Page, photo: FittingPhoto) -> None:
    sign_in(page, "ravi")
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
    return [tuple(float(part) for part in cell.replace("±", " ").split()) for cell in cells]  # type: ignore[misc]


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


def test_a_photo_marked_with_the_mouse_measures_the_wearer_within_its_plus_minus(page, front_photo):
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
    for eye in ("right", "left"):
        page.locator(f"[data-select='{eye}.pupil']").press("Enter")
        page.locator("#canvas").focus()
        page.keyboard.press("Enter")
        walk(page, [WIDTH_PX / 2, HEIGHT_PX / 2], TRUE["front"][eye]["pupil"])


def walk(page: Page, start: list[float], end: list[float]) -> None:
    """Arrow keys alone: tens, ones, tenths."""
    for axis, (back, on) in enumerate((("ArrowLeft", "ArrowRight"), ("ArrowUp", "ArrowDown"))):
        way = round(10 * (end[axis] - start[axis]))
        for held, size in (("Control+", 100), ("Shift+", 10), ("", 1)):
            steps = int(abs(way) / size)
            for _ in range(steps):
                page.keyboard.press(held + (on if way > 0 else back))
            way -= steps * size * (1 if way > 0 else -1)


def test_a_photo_marked_with_the_keyboard_alone_measures_the_same_and_survives_a_reload(page, front_photo):
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


def test_undo_takes_back_step_by_step_and_redo_brings_again(page, front_photo):
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
