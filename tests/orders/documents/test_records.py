"""The trade's records: per-eye values, identities between sizes and centring, and the trace read back."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from dispensing.optics.boxing import LensShape
from orders.documents.lens_order import parse_order
from orders.documents.records import LONGEST_TEXT, NotInRecords, records
from tests.orders.orders_on_paper import LENS_NAMES, PROGRESSIVE, order, traced


def lines(**changes: Any) -> list[str]:
    text = records(order(**changes)).decode("ascii")
    assert text.endswith("\r\n")
    return text.removesuffix("\r\n").split("\r\n")


def labels(**changes: Any) -> dict[str, Any]:
    return dict(line.split("=", 1) for line in lines(**changes))


def test_powers_and_centring_come_right_first_and_always_for_both_eyes() -> None:
    found = labels()
    assert found["JOB"] == "D-00042"
    assert found["DO"] == "B"
    assert found["SPH"] == "-3.25;-2.75"
    assert found["CYL"] == "-1.00;-0.50"
    assert found["AX"] == "170;10"
    assert found["ADD"] == "2.00;2.00"
    assert found["IPD"] == "31.00;32.50"
    assert found["PANTO"] == "9.00;9.00"
    assert found["LIND"] == "1.600;1.600"


def test_an_eye_without_a_cylinder_has_one_of_nought_and_is_not_called_unknown() -> None:
    found = labels(prescription__left={"sphere": -2.75})
    assert (found["CYL"], found["AX"]) == ("-1.00;0.00", "170;0")
    both = labels(
        prescription__right={"sphere": -3.25, "axis": 90}, prescription__left={"sphere": -2.75, "cylinder": 0}
    )
    assert (both["CYL"], "AX" in both) == ("0.00;0.00", False)
    assert labels(prescription__left={})["CYL"] == "-1.00;?"


def test_what_is_known_of_one_eye_only_has_a_question_mark_for_the_other() -> None:
    assert labels(fitting__left__pd_mm=None)["IPD"] == "31.00;?"
    assert "NPD" not in labels()


@pytest.mark.parametrize(
    ("right", "left", "angles"),
    [
        ([("in", 2.0)], [("in", 2.0)], "0;180"),
        ([("out", 2.0)], [("out", 2.0)], "180;0"),
        ([("up", 1.0)], [("down", 1.0)], "90;270"),
        ([("in", 1.0), ("up", 1.0)], [("in", 1.0), ("up", 1.0)], "45;135"),
    ],
)
def test_a_prism_base_is_an_angle_as_seen_from_the_front(
    right: list[tuple[float | str, ...]], left: list[tuple[float | str, ...]], angles: str
) -> None:
    def prism(parts: Any) -> dict[str, Any]:
        return {"sphere": 0.0, "prism": [{"amount": amount, "base": base} for base, amount in parts]}

    found = labels(prescription__right=prism(right), prescription__left=prism(left))
    assert found["PRVA"] == angles


def test_the_height_stands_under_the_label_of_the_kind_of_lens() -> None:
    assert labels()["OCHT"] == "22.00;21.50"
    lens = {**PROGRESSIVE, "extra": {**LENS_NAMES, "design_kind": "progressive"}}
    progressive = {"lenses__right": lens, "lenses__left": lens}
    assert labels(**progressive)["SEGHT"] == "22.00;21.50"
    assert "OCHT" not in labels(**progressive)
    text = records(order(**progressive), cross_height="OCHT").decode()
    assert "OCHT=22.00;21.50" in text


def test_a_single_lens_is_asked_for_alone() -> None:
    found = labels(lenses__left=None)
    assert (found["DO"], found["LNAM"], found["OCHT"]) == ("R", "sv;?", "22.00;?")


def test_the_trace_is_the_shape_in_hundredths_and_the_left_one_its_mirror_image() -> None:
    shape = traced(count=72)
    found = lines(frame__shape=shape)
    start = found.index("TRCFMT=1;72;E;R;F")
    second = found.index("TRCFMT=1;72;E;L;F")
    right = [int(r) for line in found[start + 1 : second] for r in line.removeprefix("R=").split(";")]
    left = [int(r) for line in found[second + 1 :] for r in line.removeprefix("R=").split(";")]
    assert np.array(right) / 100 == pytest.approx(np.array(shape["radii_mm"]), abs=0.0051)
    assert left == [right[(36 - i) % 72] for i in range(72)]
    traced_shape = LensShape([r / 100 for r in right], "right")
    assert (traced_shape.a_mm, traced_shape.b_mm) == pytest.approx((50.0, 40.0), abs=0.02)
    circumference = float(dict(line.split("=", 1) for line in found)["CIRC"].split(";")[0])
    assert circumference == pytest.approx(traced_shape.circumference_mm, abs=0.05)


def test_no_line_is_longer_than_eighty_signs_and_all_are_plain_ascii() -> None:
    found = lines(
        remarks="Größe prüfen; Δ = 2 — " + "lang " * 100, frame__model="Modell №5", frame__shape=traced(count=400)
    )
    assert all(len(line) <= 80 for line in found)
    assert all(line.count("=") == 1 for line in found)
    assert "REM=Grosse prufen, D - 2" in "\n".join(found)


def remarks(**changes: Any) -> list[str]:
    return [line.removeprefix("REM=") for line in lines(**changes) if line.startswith("REM=")]


def test_remarks_of_any_length_are_there_to_the_last_word_and_in_order() -> None:
    said = [f"word{place}" for place in range(200)]
    found = remarks(remarks=" ".join(said[:120]) + "\n" + " ".join(said[120:]))
    assert all(len(line) <= LONGEST_TEXT for line in found)
    told = " ".join(found).split()
    assert told[-200:] == said
    assert "".join(remarks(remarks="W" * 150)[-3:]) == "W" * 150, "a word longer than a record goes on in the next"


def test_what_no_label_says_is_said_before_the_remarks_and_what_replaces_first_of_all() -> None:
    lens = {"design": "sv", "material": "m160", "instruction": "balance", "edge": {"bevel": "mini bevel"}}
    found = remarks(
        revision=2,
        replaces={"revision": 1, "changes": [{"field": "fitting.right.pd_mm", "from": 31.5, "to": 31}]},
        purpose="remake",
        remake_of="D-00007",
        lenses__right=lens,
        remarks="Mind the hinge.",
    )
    assert found == [
        "REPLACES revision 1 of D-00042, do not make both.",
        "Right PD: 31.5 mm to 31.0 mm.",
        "Remake of D-00007.",
        "Needed by 4 Dec 2026.",
        "For distance. Back vertex powers for the test's vertex",
        "distance (12.0 mm), not compensated here, the lab may",
        "compensate.",
        "Right eye: balance lens.",
        "Right edge: mini bevel.",
        "Mind the hinge.",
    ]
    assert remarks(revision=2)[0] == "Revision 2."
    assert remarks()[0] == "Needed by 4 Dec 2026."
    assert remarks(extra={"priority": "urgent"})[:2] == ["URGENT.", "Needed by 4 Dec 2026."]


@pytest.mark.parametrize(
    ("changes", "what"),
    [
        ({"number": "D" * 61}, "The number of the order"),
        ({"practice__account": "4" * 61}, "The account"),
        ({"patient__reference": "P" * 61}, "The patient's reference"),
        ({"frame__model": "M" * 61}, "The frame's model"),
        ({"lenses__right__design": "d" * 61}, "The design"),
        ({"lenses__left__treatments": ["t" * 30, "u" * 30]}, "The list of treatments"),
        ({"lenses__left__colour": "ß" * 31}, "The tint"),
    ],
)
def test_a_name_too_long_for_a_record_is_refused_by_its_name_and_never_cut(changes: dict[str, Any], what: str) -> None:
    with pytest.raises(NotInRecords) as refused:
        records(order(**changes))
    length = 62 if what == "The tint" else 61
    assert str(refused.value).startswith(f"{what} has {length} letters, and a record holds 60: ")


def test_a_name_as_long_as_a_record_is_written_whole() -> None:
    assert labels(frame__model="M" * 60)["FRAM"] == "M" * 60
    assert labels(lenses__right__colour="c" * 60)["COLR"] == "c" * 60 + ";?"


def test_an_edge_to_be_polished_has_a_record_and_one_left_to_the_lab_none() -> None:
    lens = {"design": "sv", "material": "m160"}
    polished = {"lenses__right": {**lens, "edge": {"polished": True}}, "lenses__left": {**lens, "edge": {}}}
    assert labels(**polished)["POLISH"] == "1;?"
    assert "POLISH" not in labels()


def test_a_text_cannot_smuggle_in_a_record_of_its_own() -> None:
    found = lines(remarks="stop\r\nSPH=9.00;9.00", frame__model="A\nDO=L")
    assert [line for line in found if line.startswith("SPH=")] == ["SPH=-3.25;-2.75"]
    assert [line for line in found if line.startswith("DO=")] == ["DO=B"]


def test_an_empty_order_has_nothing_to_make() -> None:
    assert records(parse_order('{"format": "lens-order/1"}')) == b"DO=N\r\n"
