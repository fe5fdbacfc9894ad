"""What the check asks about remarks: not what the fields say too, and for each danger what to do about it."""

from __future__ import annotations

from typing import Any

import pytest

from tests.orders.rules.test_danger_words import findings

Changes = dict[str, Any]


def asked(remark: str, **changes: Any) -> list[str]:
    order = {"remarks": remark} | {key.replace("__", "."): value for key, value in changes.items()}
    return [f"{part.says} {part.advice}" for part in findings("remarks-contradict", order)]


@pytest.mark.parametrize(
    "remark",
    [
        "R -2.25 confirmed with the prescriber",
        "last pair was -2.00",
        "axis 170 confirmed",
        "add 1.75 as written",
        "PD 63.5",
        "PD 31.5 and 32",
        "fitting height 20.5 mm",
        "the progressives as discussed",
        "AR as always",
        "no tint",
        "1.60 please",
        "drives to work",
    ],
)
def test_a_remark_that_says_what_the_fields_say_is_let_be(remark: str) -> None:
    assert asked(remark) == []


@pytest.mark.parametrize(
    ("remark", "said"),
    [
        ("R +2.25 confirmed with the prescriber", "a power (“+2.25”), and the fields say nothing of the kind."),
        ("axis 107 confirmed", "the axis (“axis 107”), and"),
        ("add 2.75 please", "the add (“add 2.75”), and"),
        ("PD 65.5", "the PD (“PD 65.5”), and"),
        ("fitting height 22.5 mm", "a height (“fitting height 22.5 mm”), and"),
        ("wants bifocals", "the kind of lens (“bifocals”), and"),
        ("no AR", "anti-reflection (“AR”), and"),
        ("brown 85 %", "a tint (“brown 85 %”), and"),
        ("1.67 please", "the material (“1.67”), and"),
        ("taxi driver", "driving (“taxi driver”), and"),
        ("slab-off right", "slab-off (“slab-off”), for which there is no field."),
    ],
)
def test_a_remark_that_says_otherwise_is_asked_about_once(remark: str, said: str) -> None:
    [one] = asked(remark, patient__driver=False)
    assert f"The remarks speak of {said}" in one


def test_a_remakes_reason_is_no_order_but_a_wish_for_it_is() -> None:
    remake = {"purpose": "remake", "remake_of": "E-00000"}
    assert asked("Axis was keyed wrong, heights too low", **remake) == []
    [one] = asked("Axis was keyed wrong. Please set 2 mm lower", **remake)
    assert "another height or place (“set 2 mm lower”)" in one


def test_a_tick_that_is_missing_is_asked_for_and_one_that_is_there_is_not() -> None:
    assert asked("Registered severely sight impaired", patient__protected=True) == []
    [one] = asked("Registered severely sight impaired")
    assert one.endswith("a registered person takes part where the law asks for one.")


def test_a_tint_of_the_same_name_is_the_one_ordered() -> None:
    tinted = {"lenses__right__treatments": ["tint-free"], "lenses__right__colour": "brown 75 %"}
    assert asked("tint brown 75 %", **tinted) == []
    assert len(asked("tint grey 75 %", **tinted)) == 1
    assert len(asked("tint brown 50 %", **tinted)) == 1


def test_one_lens_only_is_right_where_one_is_ordered() -> None:
    assert asked("left lens only", lenses__right=None) == []
    assert len(asked("left lens only")) == 1


def test_a_symptom_goes_to_a_doctor_first_and_the_practitioner_decides() -> None:
    [found] = findings("doctor-first", {"remarks": "Flashes and a curtain since yesterday"})
    assert found.says == "The remarks speak of flashes, floaters or a curtain: “Flashes and a curtain since yesterday”."
    assert found.advice.startswith("To a doctor first. ")
    assert found.advice.endswith("Local rules and the licensed practitioner decide.")
    assert (found.level, found.field) == ("ask", "remarks")


def test_a_danger_is_named_with_its_protection_and_each_once() -> None:
    found = findings("eye-hazard", {"remarks": "Uses a grinder", "patient.extra": {"hazards": ["Welder", "lathe"]}})
    assert [part.found for part in found] == ["grinder", "Welder"]
    splinters, welding = found
    assert [part.field for part in found] == ["remarks", "patient.extra.hazards"]
    assert "marked to EN ISO 16321-1 (older ones to EN 166), in the US to ANSI Z87.1." in splinters.advice
    assert "EN ISO 16321-2" in welding.advice
    assert all(part.advice.endswith("Local rules and the licensed practitioner decide.") for part in found)


def test_the_only_eye_is_spoken_of() -> None:
    only = {"remarks": "Lathe operator", "prescription.left.acuity": "NPL"}
    [found] = findings("eye-hazard", only)
    assert found.says.endswith("The wearer has one good eye to lose.")
    [both] = findings("eye-hazard", {"remarks": "Lathe operator"})
    assert "one good eye" not in both.says


@pytest.mark.parametrize(
    ("material", "mount", "asks"),
    [("tough", "full_rim", 0), ("tough", "drilled", 1), ("m160", "full_rim", 1)],
)
def test_for_football_the_lens_is_tough_and_the_frame_is_not_rimless(material: str, mount: str, asks: int) -> None:
    order = {"remarks": "five-a-side", "frame.mount": mount}
    order |= {f"lenses.{eye}.material": material for eye in ("right", "left")}
    assert len(findings("eye-hazard", order)) == asks


@pytest.mark.parametrize("remark", ["Safety pin in the case", "road safety officer"])
def test_the_word_safety_alone_asks_for_no_safety_spectacles(remark: str) -> None:
    assert findings("safety-job", {"remarks": remark}) == []


def test_the_european_standard_names_no_thickness_so_it_is_asked_and_not_stopped() -> None:
    thin = {"remarks": "to EN ISO 16321-1", "lenses.right.centre_thickness_mm": 1.9}
    thin |= {f"lenses.{eye}.material": "tough" for eye in ("right", "left")}
    [asks] = findings("safety-job", thin)
    [stops] = findings("safety-job", thin | {"practice.country": "US-OH"})
    assert (asks.level, stops.level) == ("ask", "stop")
    assert (asks.found, asks.limit, asks.eye) == (1.9, 2.0, "right")
