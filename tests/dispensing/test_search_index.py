"""The indexes behind finding people: they are used, kept in step, and built by migrations for whoever is there."""

from __future__ import annotations

import re
from importlib import import_module
from typing import Any

import pytest
from django.apps import apps
from django.db import connection
from django.db.models import QuerySet

from dispensing.models import NameKey, Patient
from dispensing.queries.finding import CONTACT, OWN, find, has_part
from dispensing.search_index import ExtensionMissing, add_extension, drop_parts, index_parts
from tests.builders import a_patient

pytestmark = pytest.mark.django_db

BY_AN_INDEX = {"sqlite": "dispensing_patient_parts VIRTUAL TABLE INDEX", "postgresql": "patient_{}_parts"}


def plan(rows: QuerySet[Any]) -> str:
    """How the database would find these rows once a table is large: reading it whole is made to look dear."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SET LOCAL enable_seqscan = off")
            cursor.execute("SET LOCAL enable_indexscan = off")
    return rows.explain()


@pytest.mark.parametrize("column", [OWN, CONTACT])
@pytest.mark.parametrize("part", ["hallow", "  m", "  penhallow  "])
def test_a_part_of_a_text_is_found_by_an_index(column: str, part: str) -> None:
    found = plan(Patient.objects.order_by().filter(has_part(column, part)))
    assert BY_AN_INDEX[connection.vendor].format(column) in found, found


def test_near_names_are_found_by_equality() -> None:
    found = plan(NameKey.objects.order_by().filter(key__in=["penhalow", "penhallw"]))
    assert re.search(r"INDEX sqlite_autoindex_dispensing_namekey_1 \(key=\?\)|(using|on) name_key_once", found, re.I), (
        found
    )


def test_whoever_was_registered_before_is_found_after_the_migration(settings: Any) -> None:
    patient, other = a_patient(family_name="Penhallow", address="Ely"), a_patient(family_name="Quill")
    Patient.objects.update(search_text="", contact_text="")
    NameKey.objects.all().delete()
    assert not find("penhallow").anybody
    assert not find("penhalow").anybody
    import_module("dispensing.migrations.0023_patients_found_by_an_index").write_words(apps, None)
    assert (find("penhallow").page.rows, find("penhalow").near) == ([patient], [patient])
    assert (find("ely").others, find("quill").page.rows) == ([patient], [other])


@pytest.mark.either_database  # PostgreSQL keeps its index without triggers
def test_the_index_is_built_anew_from_what_is_there() -> None:
    patient = a_patient(family_name="Penhallow")
    with connection.cursor() as cursor:
        cursor.execute("DROP TRIGGER dispensing_patient_parts_update")
    Patient.objects.update(search_text="  thackeray  ")
    assert find("thackeray").page.rows == []
    editor = connection.SchemaEditorClass(connection)  # not entered: foreign keys are on in a test
    drop_parts(editor)
    index_parts(editor)
    assert find("thackeray").page.rows == [patient]
    Patient.objects.update(search_text="  quill  ")
    assert (find("quill").page.rows, find("thackeray").page.rows) == ([patient], [])


@pytest.mark.postgres
def test_a_role_that_may_not_add_the_extension_is_told_what_to_do() -> None:
    with connection.cursor() as cursor:
        cursor.execute("DROP EXTENSION pg_trgm CASCADE")
        cursor.execute("CREATE ROLE visitor")
        cursor.execute("SET LOCAL ROLE visitor")
    with connection.schema_editor(atomic=False) as editor, pytest.raises(ExtensionMissing, match="CREATE EXTENSION"):
        add_extension(editor)
    with connection.cursor() as cursor:
        cursor.execute("RESET ROLE")
        with connection.schema_editor(atomic=False) as editor:
            add_extension(editor)
            add_extension(editor)
        cursor.execute("SELECT count(*) FROM pg_extension WHERE extname = 'pg_trgm'")
        assert cursor.fetchone() == (1,)
