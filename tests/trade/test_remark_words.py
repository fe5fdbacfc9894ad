"""What remarks mean: what must be heard, and the many ordinary remarks that must stay quiet."""

from __future__ import annotations

import re

import pytest

from dispensing.trade.remark_words import KINDS, Kind, meanings, mentions, origin

ASKED_ABOUT = tuple(kind for kind in KINDS if kind != "wearer")


def heard(text: str, *kinds: Kind) -> list[str]:
    return [mention.meaning.about for kind in kinds or ASKED_ABOUT for mention in mentions(text, kind)]


INNOCENT = (
    "Thank you",
    "Thanks, and a good weekend",
    "Please pack with a case and a cloth",
    "Please add a second case",
    "Brown case, please",
    "Deliver to the back door",
    "Please ring before delivery",
    "Patient collects on Thursdays only",
    "Post to the patient, address on the label",
    "New frame enclosed",
    "Frame enclosed with this order, tray 14",
    "Has another frame at home",
    "Likes walking and reading",
    "For office and television",
    "Watches football on television",
    "Retired welder",
    "Used to be a carpenter, retired now",
    "Gave up squash last year",
    "Plays chess and the piano",
    "Secretary of the cricket club, does not play",
    "Wears goggles for squash",
    "Has her own safety glasses at the lathe",
    "Not for use at the grinder, wears a visor there",
    "Contact lenses for hockey",
    "Laser eye surgery in 2011",
    "Do not squash the box",
    "No double vision",
    "Sees two shops a week as a manager",
    "Sides press on the temple, sore after an hour",
    "Temple length 145",
    "Double vision since childhood, knows it well",
    "Denies flashes and floaters",
    "Floaters for years, seen by the hospital",
    "Curtains in the shop are blue",
    "Cataracts removed in 2019",
    "Diabetic, sugar well controlled",
    "Blood sugar 6.2 on the day of the test",
    "Sugar 110 mg/dl",
    "First progressive, wore bifocals before",
    "Did not get on with varifocals",
    "Husband has progressives too",
    "Pupils large in the evening",
    "PD taken with a pupillometer",
    "Two readings of everything",
    "Heights measured twice, standing",
    "Works at a standing desk, screen at eye height",
    "Thick frame suits her",
    "Thin sides, mind them",
    "Hold for collection",
    "Please mind the gold rims",
    "Tall and slim, wears them low on the nose",
    "Wife drives, he does not",
    "No longer drives",
    "Husband registered blind",
    "Grey hair, likes light colours",
    "Small nose, needs silicone pads",
    "Sides shortened by us",
    "Engrave initials MB",
    "Birthday present, no invoice in the box",
    "Third pair this year",
    "Bill to head office",
    "Teacher",
    "Works in an office and gardens at weekends",
    "He asks for the drops to be labelled",
    "Base of the nose is flat",
    "Axis confirmed with the prescriber",
    "Left eye is a prosthesis",
    "Prism thinning as usual, please",
    "A new patient, be nice",
    "Mrs Carpenter collects",
    "Basketball fan",
    "Closed on Boxing Day",
    "Acid reflux, hates the smell of coffee",
    "Had laser in 2005",
    "Logo laser engraved on the side",
    "Collects at the chemist's next door",
    "Solvent-free cleaner, please",
    "Balance due on collection",
    "Balance of £40 paid",
    "Screwdriver and sandpaper in the tool case",
    "Sees himself in the mirror image of the shop",
    "Checks the car mirror a lot",
    "Old pair was rimless",
    "Recent knee surgery, comes on crutches",
    "Two pairs in three weeks, a good customer",
    "Needs a smile",
    "Ring before delivery",
    "Please ring before edging.",
    "Right and left sides are alike",
    "Tested on 3 Mar",
    "Coating of the frame is flaking",
    "CT scan next week",
    "Lined case, please",
    "Progressive myopia, under control",
    "Same frame as before",
    "Frosted box, it is a present",
    "Nickel allergy",
    "Screw of the left hinge missing",
    "Golf and sailing",
    "Grinds his teeth at night",
)


@pytest.mark.parametrize("text", INNOCENT)
def test_an_ordinary_remark_stays_quiet(text: str) -> None:
    assert heard(text) == []


def test_there_are_enough_of_them() -> None:
    assert len(INNOCENT) >= 40


@pytest.mark.parametrize(
    ("text", "about"),
    [
        ("Complains of seeing double, started on Monday", "new double vision"),
        ("diplopia for 3 days", "new double vision"),
        ("diplopia 3/7", "new double vision"),
        ("c/o flashing lights x2 days", "flashes, floaters or a curtain"),
        ("Left pupil bigger since yesterday", "a painful eye"),
        ("post cataract 10 days", "an operation or injury of the last weeks"),
        ("1 week post-op", "an operation or injury of the last weeks"),
        ("recent head injury", "an operation or injury of the last weeks"),
        ("BM 24 this morning", "a high blood sugar"),
        ("New onset diplopia", "new double vision"),
        ("Sees two of everything since Friday", "new double vision"),
        ("Left eye went dim yesterday", "a loss of sight"),
        ("Scalp tender when she combs her hair", "a sore temple or jaw"),
        ("No pain, but double vision since yesterday", "new double vision"),
        ("sees flashing lights on the right since last night", "flashes, floaters or a curtain"),
        ("Denies pain, new floaters", "flashes, floaters or a curtain"),
        ("a shadow from below that started this week", "flashes, floaters or a curtain"),
        ("Sudden loss of vision on the left", "a loss of sight"),
        ("Left eye suddenly blurred", "a loss of sight"),
        ("The right eye hurts", "a painful eye"),
        ("Metal in the left eye", "a painful eye"),
        ("Eye surgery two weeks ago", "an operation or injury of the last weeks"),
        ("Cataract op next week", "an operation or injury of the last weeks"),
        ("blood sugar of 19.5", "a high blood sugar"),
        ("sugar 410 mg/dl", "a high blood sugar"),
        ("Sugars unstable at the moment", "a high blood sugar"),
    ],
)
def test_a_symptom_for_a_doctor_is_heard(text: str, about: str) -> None:
    assert heard(text, "doctor") == [about]


@pytest.mark.parametrize(
    ("text", "about"),
    [
        ("Joiner, uses a band saw", "flying splinters"),
        ("grinding and brushcutter work", "flying splinters"),
        ("Toolmaker", "flying splinters"),
        ("Welding at the shipyard", "welding"),
        ("Physicist, aligns lasers", "laser light"),
        ("Laser operator", "laser light"),
        ("Motor mechanic", "flying splinters"),
        ("works with acid", "splashes"),
        ("boxing twice a week", "ball and contact sports"),
        ("Handles caustics in the dairy", "splashes"),
        ("Electroplating shop", "splashes"),
        ("Shoots clays", "shot and pellets"),
        ("airsoft at weekends", "shot and pellets"),
        ("Padel on Fridays", "racket sports"),
        ("Basketball coach, plays too", "ball and contact sports"),
        ("Goalkeeper", "ball and contact sports"),
    ],
)
def test_a_danger_of_work_or_play_is_heard(text: str, about: str) -> None:
    assert heard(text, "hazard") == [about]


@pytest.mark.parametrize(
    ("text", "about", "value"),
    [
        ("L -4.25 says the doctor", "a power", -4.25),
        ("over-refraction plus 0.50", "a power", 0.5),
        ("axis 85 please", "the axis", 85.0),
        ("the add is +1.75", "the add", 1.75),
        ("PD 61,5", "the PD", 61.5),
        ("fitting height 19 mm", "a height", 19.0),
        ("on base 6", "the base curve", 6.0),
        ("use 1.67", "the material", 1.67),
        ("frame changed, size 52-18", "another frame", 52.0),
        ("3 mm lower than marked", "another height or place", None),
        ("Occlude the right eye", "a lens not to see through", None),
        ("Only the right lens", "one lens only", None),
        ("On hold", "waiting", None),
        ("ASAP", "haste", None),
        ("Bus driver", "driving", None),
        ("Registered blind", "a registration as sight-impaired", None),
        ("Same as before", "an earlier pair", None),
        ("varifocal please", "the kind of lens", None),
        ("slab off on the right", "slab-off", None),
        ("cyl 1.25 not 1.00", "the cylinder", 1.25),
        ("BVD 14", "the vertex distance", 14.0),
        ("OCs at 20", "the optical centres", 20.0),
        ("swap R and L", "the eyes exchanged", None),
        ("blue mirror", "a mirror coating", None),
        ("rimless please", "a rimless mount", None),
        ("leave uncut", "how the lenses come", None),
        ("PD 2 mm wider", "another height or place", None),
        ("wants photogrey", "photochromic lenses", None),
        ("do not glaze yet", "waiting", None),
        ("replace L only", "one lens only", None),
        ("repeat of order B-9876", "an earlier pair", None),
        ("make it balance", "a lens not to see through", None),
    ],
)
def test_what_has_a_field_is_heard_with_its_figure(text: str, about: str, value: float | None) -> None:
    found = {mention.meaning.about: mention.value for mention in mentions(text, "order")}
    assert found == {about: value}


def test_one_denied_symptom_does_not_hide_the_next() -> None:
    assert heard("No flashes, double vision since Monday", "doctor") == ["new double vision"]


def test_one_harmless_sentence_does_not_hide_the_next() -> None:
    assert heard("Retired. Grinder at home", "hazard") == ["flying splinters"]
    assert heard("Retired, grinder sold", "hazard") == []


def test_every_row_has_what_a_finding_needs() -> None:
    for kind in KINDS:
        for meaning in meanings(kind):
            assert re.fullmatch(r"[^A-Z].*[^.]", meaning.about)
            assert re.fullmatch(r"" if kind == "wearer" else r"[A-Z].*[.?]", meaning.question)
    assert origin().grade == "common practice"
