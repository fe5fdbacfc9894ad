"""Every setting of practice, lab, notices, person and patient is read by something besides the page that sets it.

Read means: a line of the product, or a template, takes it from a practice, a lab or a person and goes by it. Forms,
migrations, what writes settings generically, and lists that only show them again do not count.
"""

from __future__ import annotations

import re

import pytest

from dispensing.forms.staff import StaffForm
from dispensing.models import Practice
from orders.models import Lab, NoticeSettings
from tests.architecture.source_tree import ROOT, modules

# Where settings are set, stored or only shown again.
SHOWN_ONLY = re.compile(
    r"dispensing\.forms\.(practice|staff)|orders\.forms\.labs|.*\.migrations\..*|"
    r"dispensing\.services\.(practice|staff)|orders\.services\.labs|dispensing\.demo.*|"
    r"dispensing\.presentation\.lists_out|orders\.presentation\.lab_list"
)
SHOWN_ONLY_IN = ("practice/settings.html", "labs/list.html", "labs/edit.html", "staff/list.html", "staff/edit.html")
# By what names the code has each in hand; a query reaches it through a relation.
IN_HAND = {
    "practice": r"(?:practice|Practice\.current\(\)|row|request)",
    "lab": r"(?:lab|labs|row|there)",
    "notices": r"(?:rules|settings|row|NoticeSettings\.current\(\))",
    "patient": r"(?:patient|self)",
    "person": r"(?:self|user|actor|member|person|one|by|caller|registered|sent_by|worker)",
}
MODELS = ("dispensing.models.practice", "dispensing.models.staff", "orders.models.notices")
TEMPLATES = ROOT / "templates"
# What a patient wishes, which is a setting like any other.
WISHES = ("preferred_contact", "may_be_contacted", "notices_by_email", "notices_by_text")
OWN_KEYS = {"id", "version", "public_id", "usual"}
SETTINGS = [
    *(("practice", field.name) for field in Practice._meta.concrete_fields if field.name not in OWN_KEYS),
    *(("lab", field.name) for field in Lab._meta.concrete_fields if field.name not in OWN_KEYS),
    *(("notices", field.name) for field in NoticeSettings._meta.concrete_fields if field.name not in OWN_KEYS),
    *(("person", name) for name in StaffForm.Meta.fields),
    *(("patient", name) for name in WISHES),
]


CODE = {module: path.read_text() for module, path in modules() if not SHOWN_ONLY.fullmatch(module)}
PAGES = {
    page: path.read_text(encoding="utf-8")
    for path in sorted(TEMPLATES.rglob("*.html"))
    if (page := path.relative_to(TEMPLATES).as_posix()) not in SHOWN_ONLY_IN
}


def _reads(whose: str, name: str) -> re.Pattern[str]:
    taken = rf"\b{IN_HAND[whose]}\.(?:get_)?{name}\b(?!\s*=[^=])"
    queried = rf"\b{whose}__{name}\b|\.(?:filter|exclude|values|values_list|order_by)\([^)]*[\"'(, ]{name}\b"
    return re.compile(f"{taken}|{queried}")


def readers(whose: str, name: str) -> list[str]:
    """The modules and templates that read a setting."""
    wanted = _reads(whose, name)
    of_its_own = re.compile(rf"\bself\.{name}\b")  # a property of the model that words it for everybody
    code = [
        module for module, text in CODE.items() if wanted.search(text) or (module in MODELS and of_its_own.search(text))
    ]
    pages = [page for page, text in PAGES.items() if wanted.search(text)]
    return code + pages


@pytest.mark.parametrize(("whose", "name"), SETTINGS, ids=str)
def test_a_setting_is_read_by_something_besides_the_page_that_sets_it(whose: str, name: str) -> None:
    assert readers(whose, name), f"Nothing goes by the {name} of a {whose}: give it an effect, or take it out."


def test_a_setting_that_nothing_reads_is_noticed() -> None:
    assert readers("practice", "colour_of_the_door") == []
    assert readers("lab", "wants_json") == ["orders.sending.channels.email", "orders/send.html"]
