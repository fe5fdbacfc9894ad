"""Marks proposed on painted faces: right where they are given, refused where nothing is sure, whatever the skin.

A few faces here; ``python -m tests.fitting.painted_proposals`` prints every condition.
"""

from __future__ import annotations

import hashlib
import io
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from dispensing.fitting import propose_command
from dispensing.fitting.anatomy import ID1_CARD_LENGTH_MM
from dispensing.fitting.documents import Eye
from dispensing.fitting.seeing import networks
from dispensing.fitting.seeing.figure import Edge, Name, as_one_figure
from dispensing.fitting.seeing.networks import NetworksMissing
from dispensing.fitting.seeing.proposal import LEAST_SURE, propose
from dispensing.fitting.seeing.whereabouts import FrameSizes
from tests.fitting.painted_card import PaintedCard
from tests.fitting.painted_face import IRISES, RIMS, SKINS, PaintedFace, varied
from tests.fitting.painted_proposals import WRONG_MM, counted, judged

FACE = PaintedFace(b_mm=32.0, size=(1000, 960), middle=(500.0, 450.0))  # its upper rim well below the brows
SIZES = FrameSizes(FACE.a_mm, FACE.b_mm, FACE.dbl_mm)
BOX = {"nasal", "temporal", "top", "bottom"}


@pytest.mark.parametrize(
    ("skin", "iris", "seed", "look"),
    [("light", "blue", 1, {"tint": 0.5}), ("dark", "dark", 2, {}), ("brown", "green", 5, {"tint": 0.8})],
)
def test_pupils_are_found_to_half_a_millimetre_on_any_skin_and_through_dark_lenses(
    skin: str, iris: str, seed: int, look: dict[str, Any]
) -> None:
    rng = np.random.default_rng(seed)
    marks = list(judged(varied(rng, skin=SKINS[skin], iris=IRISES[iris], **look), rng))
    off = [one.off_mm for one in marks if one.mark == "pupil"]
    assert all(one is not None and one < 0.5 for one in off), off
    assert counted(marks)["wrong"] <= 1


def test_the_pupil_s_own_middle_is_proposed_and_not_the_iris_s() -> None:
    beside = replace(FACE, pupil_in_mm=0.4)
    found = propose(beside.paint(np.random.default_rng(0))).marks
    for eye, inwards in (("right", 1), ("left", -1)):
        x = found[eye]["pupil"].at[0]  # type: ignore[index]  # the two eyes
        pupil = beside.truth()[eye]["pupil"][0]
        iris = pupil - inwards * 0.4 * FACE.px_per_mm
        assert abs(x - pupil) < 0.5 * abs(x - iris)


def test_a_known_frame_is_found_with_all_its_sides_and_none_without_its_sizes() -> None:
    photo = FACE.paint(np.random.default_rng(0))
    found, without = propose(photo, SIZES, with_card=False).marks, propose(photo, with_card=False).marks
    truth = FACE.truth()
    for eye in found:
        assert set(without[eye]) == {"pupil"}
        for name in BOX & set(found[eye]):
            off = np.array(found[eye][name].at) - np.array(truth[eye][name])
            across = off[0] if name in ("nasal", "temporal") else off[1]
            assert abs(across) / FACE.px_per_mm < 0.3, (eye, name)
            assert LEAST_SURE <= found[eye][name].confidence <= 1
    assert sum(len(marks) for marks in found.values()) >= 2 + 4


def test_a_side_that_is_covered_is_refused_alone() -> None:
    photo = replace(FACE, hair_mm=4.0).paint(np.random.default_rng(0))
    found = propose(photo, SIZES, with_card=False).marks
    assert set(found["left"]) == BOX | {"pupil"}
    assert set(found["right"]) == BOX - {"temporal"} | {"pupil"}


def test_a_lens_without_a_rim_ends_where_its_ground_edge_does() -> None:
    bare = replace(FACE, mount="rimless", rim=RIMS["black"])
    sizes = replace(SIZES, mount="drilled")
    found, truth = propose(bare.paint(np.random.default_rng(0)), sizes, with_card=False).marks, bare.truth()
    for eye in found:
        assert abs(found[eye]["bottom"].at[1] - truth[eye]["bottom"][1]) / FACE.px_per_mm < 0.3
        assert abs(found[eye]["temporal"].at[0] - truth[eye]["temporal"][0]) / FACE.px_per_mm < 0.3


def test_of_two_edges_those_are_taken_that_are_as_far_apart_as_the_frame_says() -> None:
    def rim(inner: float, out: float, own: float = 1.0, other: float = 1.5) -> list[Edge]:
        return [Edge(inner, 0.8, own), Edge(inner + out * 2.4, 0.8, other)]

    edges: dict[Name, list[Edge]] = {}
    sides: tuple[tuple[Eye, int], ...] = (("right", -1), ("left", 1))
    for eye, side in sides:
        edges[eye, "temporal"] = rim(side * 61.2, side)
        edges[eye, "nasal"] = rim(side * 8.9, -side)
        edges[eye, "top"], edges[eye, "bottom"] = rim(-18.8, -1), rim(18.8, 1)
    chosen = as_one_figure(edges, FrameSizes(52, 38, 18), 1.0)
    assert {name: one.edge.at for name, one in chosen.items()} == {name: both[0].at for name, both in edges.items()}
    # Nothing but looks tells them apart where the sizes are those of the outer edges.
    chosen = as_one_figure(edges, FrameSizes(56.8, 42.8, 13.2), 1.0)
    assert {name: one.edge.at for name, one in chosen.items()} == {name: both[1].at for name, both in edges.items()}


@pytest.mark.parametrize("colour", [(238, 238, 236), (40, 40, 44)], ids=["white", "as dark as the hair"])
def test_a_card_gives_the_scale_to_a_quarter_of_a_per_cent(colour: tuple[int, int, int]) -> None:
    card = PaintedCard(x_mm=4, y_mm=-72, lean_deg=3, colour=colour)
    found = propose(replace(FACE, card=card).paint(np.random.default_rng(0))).card
    assert found is not None
    assert found.sure >= LEAST_SURE
    corners = np.array([FACE.at(*place) for place in card.corners()])
    assert np.array(found.corners) == pytest.approx(corners, abs=0.3 * FACE.px_per_mm)
    length = float(np.hypot(*np.subtract(*found.ends)))
    assert length == pytest.approx(ID1_CARD_LENGTH_MM * FACE.px_per_mm, rel=0.0025)


@pytest.mark.parametrize(
    "hidden",
    [replace(FACE, glare=0.3), replace(FACE, eyes_closed=True)],
    ids=["behind a reflection", "closed"],
)
def test_an_eye_that_does_not_show_is_refused_and_not_guessed(hidden: PaintedFace) -> None:
    found = propose(hidden.paint(np.random.default_rng(1)), SIZES).marks
    assert [eye for eye in found if "pupil" in found[eye]] == []


def test_a_face_without_spectacles_and_a_wall_have_no_sides() -> None:
    bare = propose(replace(FACE, glasses=False).paint(np.random.default_rng(2)), SIZES).marks
    assert all(set(marks) == {"pupil"} for marks in bare.values())
    wall = np.full((900, 1200, 3), 170, np.uint8)
    assert all(not marks for marks in propose(wall, SIZES).marks.values())


def test_a_photo_twice_as_large_gives_the_same_places() -> None:
    # An odd number of rows, so that nothing falls on whole pixels by luck.
    small = FACE.paint(np.random.default_rng(3))[:-1]
    large = np.asarray(Image.fromarray(small).resize((2000, 2 * small.shape[0]), Image.Resampling.BICUBIC))
    one, other = (propose(photo, SIZES, with_card=False).marks for photo in (small, large))
    for eye in one:
        assert np.array(other[eye]["pupil"].at) / 2 == pytest.approx(np.array(one[eye]["pupil"].at), abs=1.2)


def test_the_networks_are_the_ones_that_were_tried() -> None:
    for name, pinned in networks.SHA256.items():
        assert hashlib.sha256(networks._checked(name)).hexdigest() == pinned


@pytest.mark.parametrize(("package", "says"), [("no_such_package", "not installed"), (networks.PACKAGE, "not the one")])
def test_networks_that_are_missing_or_changed_are_refused_in_words(
    package: str, says: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(networks, "PACKAGE", package)
    monkeypatch.setattr(networks, "SHA256", {"iris_landmark": "0" * 64})
    with pytest.raises(NetworksMissing, match=says):
        networks._checked("iris_landmark")


def test_the_command_prints_a_line_a_photo_with_null_for_what_is_not_sure(tmp_path: Path) -> None:
    photo, closed, text = (tmp_path / name for name in ("photo.png", "closed.png", "text.jpg"))
    Image.fromarray(FACE.paint(np.random.default_rng(0))).save(photo)
    Image.fromarray(replace(FACE, eyes_closed=True).paint(np.random.default_rng(0))).save(closed)
    text.write_text("no picture")
    out, err = io.StringIO(), io.StringIO()
    assert propose_command.run(map(str, (photo, text, closed)), SIZES, out, err) == 2
    first, second = (json.loads(line) for line in out.getvalue().splitlines())
    # No card is held up, so none is told of.
    assert set(first) == {"format", "file", "width_px", "height_px", "right", "left", "confidence"}
    assert (first["format"], first["file"]) == ("photo-proposal/1", str(photo))
    assert (first["width_px"], first["height_px"]) == FACE.size
    assert first["right"]["pupil"] == pytest.approx(FACE.truth()["right"]["pupil"], abs=WRONG_MM * FACE.px_per_mm)
    assert set(first["right"]) == BOX | {"pupil"}
    assert first["confidence"]["right"]["pupil"] >= LEAST_SURE
    assert second["right"]["pupil"] is None
    assert "pupil" not in second["confidence"]["right"]
    assert err.getvalue().startswith(f"{text}: The file is no photo")
    assert propose_command.run([str(photo)], None, io.StringIO(), err) == 0
