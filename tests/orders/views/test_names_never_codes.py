"""People read names in an order, never codes: not those of the catalogue, of a list of choices, or of a rule.

The catalogue in these tests has codes unlike any name, so that one that slips through is found.
"""

from __future__ import annotations

import json
import math
import re
from datetime import timedelta
from html.parser import HTMLParser
from typing import Any, get_args

import pytest
from django.db.models import TextChoices
from django.urls import reverse
from django.utils import timezone

from dispensing.choice_words import label
from dispensing.models.choices import Mount, Use
from orders.documents import lens_catalogue, lens_order, names
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import parse_order
from orders.documents.order_report import OrderReport
from orders.facts import catalogue_of
from orders.models import Order, OrderDocument
from orders.models.orders import FrameSource, Purpose, Supply
from orders.presentation.checks import _changed
from orders.printing.lab_order import lab_order_html
from orders.rules.examples import Example, all_examples
from orders.rules.registry import all_rules
from orders.services.catalogues import import_catalogue
from orders.services.judging import judge
from orders.services.lifting import lift
from orders.services.sending import send_order
from tests.orders import shop
from tests.orders.views.desk import HTMX, change, page_of, stored, text_of, typed_on
from tests.people import person, signed_in

pytestmark = [pytest.mark.django_db, pytest.mark.either_database]

CODES = {"sv": "d-11", "prog": "d-22", "m160": "m-33", "ar": "t-55"}
MATERIAL, TINT, MIRROR = "m-44", "t-66", "t-77"

LISTS: dict[Any, dict[Any, str]] = {
    lens_order.Mount: dict(names.MOUNTS),
    lens_order.Use: dict(names.USES),
    lens_order.Purpose: dict(names.PURPOSES),
    lens_order.Supply: dict(names.SUPPLIES),
    lens_order.FrameSource: dict(names.FRAME_SOURCES),
    lens_order.Instruction: dict(names.INSTRUCTIONS),
    lens_catalogue.DesignKind: dict(names.DESIGN_KINDS),
}
MODELS: list[tuple[type[TextChoices], dict[Any, str]]] = [
    (Mount, dict(names.MOUNTS)),
    (Use, dict(names.USES)),
    (Purpose, dict(names.PURPOSES)),
    (Supply, dict(names.SUPPLIES)),
    (FrameSource, dict(names.FRAME_SOURCES)),
]


def coded_catalogue() -> dict[str, Any]:
    """The shop's catalogue with these codes, a second material and a tint that the mirror excludes."""
    text = json.dumps(shop.CATALOGUE)
    for old, new in CODES.items():
        text = text.replace(f'"{old}"', f'"{new}"')
    catalogue: dict[str, Any] = json.loads(text)
    second = {**catalogue["materials"][0], "id": MATERIAL, "name": "Plastic 1.50", "index": 1.5}
    catalogue["materials"].append(second)
    catalogue["treatments"] += [
        {"id": TINT, "name": "Grey 85 %", "kind": "tint", "materials": [], "luminous_transmittance": 0.15},
        {"id": MIRROR, "name": "Blue mirror", "kind": "mirror", "materials": [], "excludes": [TINT]},
    ]
    return catalogue


LENS = {"design": "d-11", "material": "m-33", "treatments": ["t-55"]}


def draft(**fields: Any) -> Order:
    lab = shop.lab("Coded Lab")
    import_catalogue(lab=lab, content=json.dumps({**coded_catalogue(), "lab": lab.name}).encode(), actor=person("ines"))
    chosen = {"lab": lab, "lenses": {"right": LENS, "left": LENS}} | fields
    return shop.draft(**chosen)


class Read(HTMLParser):
    """What of a page is read or read out: its text and the attributes that stand for text."""

    UNSEEN = ("script", "style", "template")
    SPOKEN = ("alt", "aria-label", "placeholder", "title")

    def __init__(self, html: str) -> None:
        super().__init__()
        self.parts: list[str] = []
        self._unseen = 0
        self.feed(html)

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        self._unseen += tag in self.UNSEEN
        self.parts += [value for name, value in attributes if name in self.SPOKEN and value]

    def handle_endtag(self, tag: str) -> None:
        self._unseen -= tag in self.UNSEEN

    def handle_data(self, data: str) -> None:
        if not self._unseen:
            self.parts.append(data)


def read(html: str) -> str:
    return " ".join(" ".join(Read(html).parts).split())


def refused_codes() -> set[str]:
    """Codes of the catalogue, of the lists and of the rules, as far as they are not the name itself."""
    catalogue = coded_catalogue()
    offered = {entry["id"] for part in ("materials", "designs", "treatments") for entry in catalogue[part]}
    listed = {code for words in LISTS.values() for code, name in words.items() if code not in name}
    kinds = {"antireflection"}
    return offered | listed | kinds | {rule.id for rule in all_rules() if "-" in rule.id}


def assert_only_names(text: str) -> None:
    found = {code for code in refused_codes() if re.search(rf"(?<![\w-]){re.escape(code)}(?![\w-])", text)}
    assert found == set()
    # A key of a document, should one have got in; the command is what somebody has to type.
    assert re.findall(r"\b[a-z]+_[a-z_]+\b", text.replace("send_orders", "")) == []


def without_codes_for_the_lab(printed: str) -> str:
    """The paper without the codes that stand in brackets behind names, by which a lab finds its lenses."""
    catalogue = coded_catalogue()
    for entry in (entry for part in ("materials", "designs", "treatments") for entry in catalogue[part]):
        printed = printed.replace(f"{entry['name']} ({entry['id']})", entry["name"])
    return printed


def paper(document: OrderDocument) -> str:
    text, report = document.text.encode(), OrderReport.model_validate_json(document.report)
    return read(lab_order_html(parse_order(text), text, catalogue=catalogue_of(document.order), report=report))


TRACED = [
    round(1 / math.hypot(math.cos(turn) / 29, math.sin(turn) / 19), 2) for turn in map(math.radians, range(0, 360, 5))
]


def a_wrong_order(**fields: Any) -> Order:
    """Much that can be wrong is, so that many findings are said."""
    patient, frame = shop.patient(driver=True), shop.frame(mount="grooved", a_mm=58, ed_mm=60, radii_mm=TRACED)
    prescription = shop.prescription(patient, right={"add": 2.0}, left={"add": 1.75}, use="distance_and_near")
    right = {"design": "d-22", "material": MATERIAL, "treatments": [TINT, MIRROR], "corridor_mm": 14, "blank_mm": 70}
    left = {"design": "d-11", "material": "m-33", "treatments": ["t-55"], "instruction": "balance", "blank_mm": 65}
    chosen: dict[str, Any] = {
        "patient": patient,
        "frame": frame,
        "fitting": shop.fitting(patient, frame, pd_mm_right=25.0),
        "prescription": prescription,
        "lenses": {"right": right, "left": left},
        "frame_source": "trace_only",
        "other_pair": False,
        "purpose": "remake",
        "remake_cause": "flaw",
        "remake_whose": "lab",
    }
    return draft(**chosen | fields)


def settled(order: Order) -> Order:
    """The order with every stop lifted and every question confirmed."""
    dana, judged = shop.dispenser(), None
    for finding in _open(order):
        judged = lift(
            order=order, actor=dana, version=order.version, rule=finding[0], eye=finding[1], reason="As the lab agreed."
        )
    assert judged is not None
    assert not judged.open_findings
    return stored(order)


def _open(order: Order) -> list[tuple[str, str | None]]:
    return list(dict.fromkeys((part.rule, part.eye) for part in judge(order).open_findings))


@pytest.mark.parametrize("of", LISTS, ids=lambda of: str(get_args(of)[0]))
def test_every_choice_of_a_list_has_its_words(of: Any) -> None:
    assert set(LISTS[of]) == set(get_args(of))
    assert len(set(LISTS[of].values())) == len(LISTS[of])


@pytest.mark.parametrize(("model", "words"), MODELS, ids=lambda value: getattr(value, "__name__", ""))
def test_forms_and_tables_take_the_words_from_the_one_list(model: type[TextChoices], words: dict[Any, str]) -> None:
    assert dict(model.choices) == {code: label(name) for code, name in words.items()}


def test_the_desk_of_an_order_with_much_wrong_says_names() -> None:
    order = a_wrong_order()
    text = read(page_of(order))
    assert_only_names(text)
    for said in (
        "Progressive is not made in Plastic 1.50; it comes in 1.60.",
        "Blue mirror",
        "Grey 85 % and Blue mirror (right lens) are not made together.",
        "Stays at the practice: shape only",
        "Balance lens",
    ):
        assert said in text
    live = text_of(change(order, frame_source="to_follow", supply="edged"))
    assert_only_names(read(live))


def ways_out(order: Order) -> str:
    answer = signed_in("ravi").get(reverse("order-remedies", args=[order.public_id]), {"version": order.version})
    return read(answer.content.decode())


def test_the_ways_out_are_said_by_name() -> None:
    text = ways_out(a_wrong_order())
    assert "Leave out Blue mirror on the right lens." in text
    assert_only_names(text)


def test_another_frame_is_offered_with_its_mount_where_that_is_another() -> None:
    shop.frame(model="Birch 46", a_mm=46, ed_mm=48, mount="drilled", in_stock=1)
    shop.frame(model="Cedar 47", a_mm=47, ed_mm=49, in_stock=1)
    patient, frame = shop.patient(), shop.frame(a_mm=54, ed_mm=56)
    lens = {**LENS, "blank_mm": 65.0}
    fitting = shop.fitting(patient, frame)
    text = ways_out(draft(patient=patient, frame=frame, fitting=fitting, lenses={"right": lens, "left": lens}))
    assert "Choose the frame Cedar 47 (47□19, 38 deep) and measure in it." in text
    assert "Choose the frame Birch 46 (46□19, 38 deep, drilled (rimless)) and measure in it." in text
    assert_only_names(text)


def test_what_two_people_saved_is_set_side_by_side_by_name() -> None:
    order = draft()
    ravi, ines = signed_in("ravi"), signed_in("ines")
    opened = page_of(order, ravi)
    change(order, ines, right__design="d-22", right__corridor_mm="14", supply="uncut", frame_source="own")
    mine = {**typed_on(opened), "right-treatments": ["t-55", TINT], "purpose": "remake", "supply": "edged"}
    answer = ravi.post(reverse("order-live", args=[order.public_id]), mine, headers=HTMX)
    rows = re.findall(r"<th scope=\"row\">(.*?)</th><td>(.*?)</td><td>(.*?)</td>", answer.content.decode())
    assert {
        ("Right design", "Single vision", "Progressive"),
        ("Right corridor", "–", "14"),
        ("Right treatments", "Anti-reflection, Grey 85 %", "Anti-reflection"),
        ("What the lab supplies", "edged to the shape", "uncut lenses"),
        ("Way of the frame", "enclosed with this order", "patient&#x27;s own, enclosed"),
        ("Purpose", "remake", "new spectacles"),
    } <= set(rows)
    assert_only_names(read(answer.content.decode()))


def test_a_lifted_stop_stands_in_a_conflict_by_the_title_of_its_rule() -> None:
    order = a_wrong_order()
    opened = page_of(order, signed_in("ravi"))
    lift(order=order, actor=person("ines"), version=order.version, rule="frame-route", eye=None, reason="It is here.")
    data = {"rule": "frame-route", "eye": "", "version": typed_on(opened)["version"], "reason": "It follows."}
    answer = signed_in("ravi").post(reverse("order-settle", args=[order.public_id]), data, headers=HTMX)
    text = read(answer.content.decode())
    assert "Stops lifted and questions confirmed" in text
    assert "The frame gets to the lab that fits it" in text
    assert_only_names(text)


def test_review_record_and_paper_of_an_order_sent_in_spite_of_all_say_names() -> None:
    order = settled(a_wrong_order())
    review = signed_in("ravi").get(reverse("order-send", args=[order.public_id])).content.decode()
    document = send_order(order=order, actor=shop.dispenser(), version=order.version)
    record = signed_in("ravi").get(reverse("order-page", args=[order.public_id])).content.decode()
    printed = without_codes_for_the_lab(paper(document))
    for text in (read(review), read(record), printed):
        assert_only_names(text)
        assert "Progressive" in text
        assert "Grey 85 %" in text
    assert "Edged and fitted in the frame" in printed
    assert "grooved (supra)" in printed
    assert "stays at the practice: shape only" in printed
    assert "balance lens" in printed
    assert (
        "The lenses are to be fitted, but the lab gets only a trace. Lifted by Dana Okafor: As the lab agreed."
        in printed
    )
    assert "Send the frame, or order the lenses edged." not in printed


def test_the_lens_that_stays_goes_by_name_too() -> None:
    kept = {"design": "d-11", "material": MATERIAL, "treatments": ["t-55", TINT], "base_curve_d": 4.0}
    patient = shop.patient()
    order = settled(draft(patient=patient, lenses={"right": LENS, "left": None}, kept_lens=kept))
    printed = without_codes_for_the_lab(paper(send_order(order=order, actor=shop.dispenser(), version=order.version)))
    stays = "Single vision, Plastic 1.50, base curve 4.00 D (1.530), Anti-reflection, Grey 85 %"
    assert f"Lens that stays in the frame: {stays}" in printed
    assert_only_names(printed)


def test_a_treatment_that_the_catalogue_no_longer_holds_is_not_left_out_in_silence() -> None:
    order = draft(lenses={"right": {**LENS, "treatments": ["t-55", "t-99"]}, "left": LENS})
    review = signed_in("ravi").get(reverse("order-send", args=[order.public_id])).content.decode()
    assert "Single vision, 1.60, Anti-reflection, t-99" in read(review)


def test_lists_of_orders_say_names() -> None:
    order = draft(needed_on=timezone.localdate() + timedelta(days=20), purpose="remake")
    for address in (reverse("order-list"), reverse("patient-page", args=[order.patient.public_id])):
        assert_only_names(read(signed_in("ravi").get(address).content.decode()))


def test_what_shows_how_a_rule_is_tripped_says_keys_and_values_in_words() -> None:
    for rule, line in (
        ("frame-route", ("Way of the frame", "stays at the practice: shape only")),
        ("drill-material", ("Mount", "drilled (rimless)")),
        ("pair-match", ("Left material", "1.67")),
    ):
        page = signed_in("ravi").get(reverse("check-page", args=[rule])).content.decode()
        assert line in re.findall(r"<div><dt>(.*?)</dt><dd>(.*?)</dd></div>", page)


TRIPPING = [one for one in all_examples() if one.level]


@pytest.mark.parametrize("example", TRIPPING, ids=lambda one: f"{one.rule}: {one.says}")
def test_every_key_and_value_of_an_example_has_words(example: Example) -> None:
    for key, value in _changed(example):
        assert not re.search(r"[_.]", key), key
        assert not re.search(r"\b[a-z]+_[a-z]+\b|[{}\[\]]", value), value


def test_the_catalogue_of_these_tests_is_one() -> None:
    assert LensCatalogue.model_validate_json(json.dumps(coded_catalogue())).design("d-22")


def test_the_audit_trail_of_a_draft_says_names_and_the_titles_of_rules() -> None:
    order, ravi = a_wrong_order(), signed_in("ravi")
    lift(order=order, actor=person("ines"), version=order.version, rule="frame-route", eye=None, reason="It is here.")
    order.refresh_from_db()
    opened = {**typed_on(page_of(order, ravi)), "supply": "edged", "right-material": "m-33"}
    assert ravi.post(reverse("order-live", args=[order.public_id]), opened, headers=HTMX).status_code == 200
    trail = read(signed_in("ines").get(reverse("audit-trail")).content.decode())
    assert "lenses: right material: Plastic 1.50 → right material: 1.60" in trail
    assert "supply: edged and fitted in the frame → edged to the shape" in trail
    assert "rule: The frame gets to the lab that fits it" in trail
    assert_only_names(trail)
