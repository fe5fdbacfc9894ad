"""``manage.py load_catalogue``: it tells what differs, uses nothing unless told to, and nothing unconfirmed."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from orders.models import Catalogue
from tests.orders import shop
from tests.people import person

pytestmark = pytest.mark.django_db


def load(folder: Path, content: bytes, *options: str, by: str = "ines") -> str:
    person("ines")
    file, out = folder / "catalogue.json", io.StringIO()
    file.write_bytes(content)
    call_command("load_catalogue", str(file), "--by", by, *options, stdout=out)
    return out.getvalue()


def refused(folder: Path, content: bytes, *options: str, by: str = "ines") -> tuple[str, int]:
    with pytest.raises(CommandError) as error:
        load(folder, content, *options, by=by)
    return str(error.value), error.value.returncode


HEAVY = shop.catalogue_bytes(materials=[{**shop.CATALOGUE["materials"][0], "density_g_cm3": 4.5}])
PATH = "$.materials[0].density_g_cm3"


def test_without_use_it_only_tells_what_differs(tmp_path: Path) -> None:
    first = shop.lab().catalogues.get()
    told = load(tmp_path, HEAVY)
    assert told.splitlines() == [
        "changed: material of 1.60: density: 1.3 g/cm³, now 4.5 g/cm³",
        f"unusual: {PATH}: Density of the material “1.60” is 4.5 g/cm³; usual is 1 to 4.1 g/cm³.",
        "Open drafts: 0; touched: 0; newly stopped: 0.",
    ]
    assert Catalogue.objects.get(in_use=True) == first


def test_it_is_used_once_everything_unusual_is_confirmed(tmp_path: Path) -> None:
    first = shop.lab().catalogues.get()
    said, code = refused(tmp_path, HEAVY, "--use")
    assert (code, f"--confirm '{PATH}'" in said) == (1, True)
    assert Catalogue.objects.get(in_use=True) == first
    assert load(tmp_path, HEAVY, "--use", "--confirm", PATH).endswith("It is in use.\n")
    used = Catalogue.objects.get(in_use=True)
    assert used != first
    assert [(entry["path"], entry["by"]) for entry in used.confirmed] == [(PATH, str(person("ines")))]


@pytest.mark.parametrize(
    ("content", "by", "said"),
    [
        (b"not json", "ines", "is not JSON"),
        (shop.catalogue_bytes(lab="Another"), "ines", "No lab here has the name"),
        (shop.catalogue_bytes(designs=[]), "ines", "$.designs: is empty"),
        (HEAVY, "nobody", "nobody is no manager here"),
        (HEAVY, "dana", "dana is no manager here"),
    ],
    ids=["no json", "another lab", "no designs", "nobody", "a dispenser"],
)
def test_what_cannot_be_taken_in_ends_with_2_and_keeps_nothing(
    content: bytes, by: str, said: str, tmp_path: Path
) -> None:
    shop.lab()
    shop.dispenser()
    told, code = refused(tmp_path, content, by=by)
    assert (code, said in told) == (2, True), told
    assert Catalogue.objects.count() == 1
