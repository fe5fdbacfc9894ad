"""Scans, photos and the secrets of labs are encrypted where they are kept, and a key can be changed."""

from __future__ import annotations

import hashlib
import io
from typing import Any

import pytest
from cryptography.fernet import Fernet
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command
from django.db import connection
from django.urls import reverse
from pytest_django import Settings

from dispensing.at_rest import MARK, NoKeyFits, decrypted, encrypted, is_by_first_key
from dispensing.models import PrescriptionScan
from dispensing.services.files import opened
from dispensing.services.papers import add_paper, take_in_paper
from dispensing.services.scans import add_scan
from orders.models import Lab, LabSecret
from orders.services.lab_secrets import make_secret, secrets_of
from tests.builders import a_patient, a_prescription
from tests.evidence.shelf import doctors_words, says
from tests.known import there
from tests.orders import shop
from tests.people import person, signed_in

pytestmark = pytest.mark.django_db
OLD, NEW, OTHER = (Fernet.generate_key().decode() for _ in range(3))
PDF = b"%PDF-1.4\nAda Lindqvist\n%%EOF\n"


def a_scan() -> PrescriptionScan:
    return add_scan(actor=None, prescription=a_prescription(a_patient()), upload=SimpleUploadedFile("a.pdf", PDF))


def on_disk(scan: PrescriptionScan, settings: Settings) -> bytes:
    return bytes((settings.MEDIA_ROOT / (scan.file.name or "")).read_bytes())


def in_the_database(secret: LabSecret) -> str:
    with connection.cursor() as cursor:
        cursor.execute("SELECT text FROM orders_labsecret WHERE id = %s", [secret.pk])
        return str(cursor.fetchone()[0])


def said_by(command: str, *options: str) -> str:
    out = io.StringIO()
    call_command(command, *options, stdout=out)
    return out.getvalue()


def test_a_scan_is_encrypted_on_the_disk_and_plain_on_its_page(settings: Settings) -> None:
    settings.ENCRYPTION_KEYS = [NEW]
    scan = a_scan()
    assert b"Lindqvist" not in on_disk(scan, settings)
    answer: Any = signed_in("dora").get(f"/scans/{scan.public_id}/")
    assert answer.getvalue() == PDF
    assert doctors_words(only=("stored-files",)) == []


def test_without_a_key_in_the_settings_it_is_not_shown_and_the_doctor_names_it(settings: Settings) -> None:
    beside = a_scan()
    settings.ENCRYPTION_KEYS = [OLD]
    scan = a_scan()
    for keys in ([], [OTHER]):
        settings.ENCRYPTION_KEYS = keys
        assert signed_in("dora").get(f"/scans/{scan.public_id}/").status_code == 404
        (line,) = doctors_words(only=("stored-files",))
        assert says([line], f"prescription scan {scan.pk}")
        assert "cannot be opened: no key in the settings fits" in line
        assert signed_in("dora").get(f"/scans/{beside.public_id}/").status_code == 200


def test_what_was_stored_before_is_encrypted_by_the_command_and_what_was_encrypted_by_an_old_key_anew(
    settings: Settings,
) -> None:
    plain, lab = a_scan(), shop.lab()
    make_secret(lab=lab, actor=None)
    settings.ENCRYPTION_KEYS = [OLD]
    old = a_scan()
    settings.ENCRYPTION_KEYS = [NEW, OLD]
    new = a_scan()
    kept = on_disk(new, settings)
    assert "files that are not encrypted yet: 1" in said_by("doctor", "--only", "stored-files")
    assert said_by("encrypt_at_rest") == "3 encrypted by the first key.\n"
    assert said_by("encrypt_at_rest") == "0 encrypted by the first key.\n"
    assert "not encrypted" not in said_by("doctor", "--only", "stored-files")
    settings.ENCRYPTION_KEYS = [NEW]
    assert on_disk(new, settings) == kept
    for scan in (plain, old, new):
        assert is_by_first_key(on_disk(scan, settings))
        with opened(scan.file) as file:
            assert file.read() == PDF
    assert is_by_first_key(in_the_database(LabSecret.objects.get()))
    assert doctors_words(only=("stored-files", "lab-secrets")) == []


def test_what_no_key_opens_is_named_and_the_rest_is_encrypted(settings: Settings) -> None:
    settings.ENCRYPTION_KEYS = [OTHER]
    lost = a_scan()
    settings.ENCRYPTION_KEYS = []
    plain = a_scan()
    settings.ENCRYPTION_KEYS = [NEW]
    with pytest.raises(CommandError) as refused:
        call_command("encrypt_at_rest")
    assert f"prescription scan {lost.pk}, {lost.file.name}: No key in ENCRYPTION_KEYS opens this." in str(refused.value)
    assert f"prescription scan {plain.pk}" not in str(refused.value)
    assert is_by_first_key(on_disk(plain, settings))


def test_a_labs_secret_is_encrypted_and_signs_as_before(settings: Settings) -> None:
    lab, beside = shop.lab(), shop.lab("Harbour Lab")
    plain = make_secret(lab=beside, actor=None)
    settings.ENCRYPTION_KEYS = [OLD]
    text = make_secret(lab=lab, actor=None)
    secret = LabSecret.objects.get(lab=lab)
    assert text not in in_the_database(secret)
    assert text.removeprefix("whsec_") not in in_the_database(secret)
    assert (secrets_of(lab), secrets_of(beside)) == ([text], [plain])
    assert in_the_database(LabSecret.objects.get(lab=beside)) == plain


def test_a_secret_that_no_key_opens_is_named_and_the_labs_page_still_opens(settings: Settings) -> None:
    lab, beside = shop.lab(), shop.lab("Harbour Lab")
    for key, of in ((OLD, lab), (NEW, beside)):
        settings.ENCRYPTION_KEYS = [key]
        make_secret(lab=of, actor=None)
    (line,) = doctors_words(only=("lab-secrets",))
    assert says([line], f"secret {lab.secrets.values_list('pk', flat=True).get()} of {lab}")
    with pytest.raises(NoKeyFits):
        secrets_of(lab)
    page = reverse("lab-page", args=[Lab.objects.get(pk=lab.pk).public_id])
    assert signed_in("ines").get(page).status_code == 200


@pytest.mark.parametrize("content", [b"", b"x", MARK, bytes(range(256)) * 9])
def test_what_is_encrypted_is_opened_and_nothing_else(content: bytes, settings: Settings) -> None:
    settings.ENCRYPTION_KEYS = [NEW]
    stored = encrypted(content)
    assert (stored.startswith(MARK), decrypted(stored)) == (True, content)
    damaged = stored[:-1] + bytes([stored[-1] ^ 1])
    with pytest.raises(NoKeyFits):
        decrypted(damaged)
    settings.ENCRYPTION_KEYS = []
    assert encrypted(content) == content


def test_a_new_key_is_one_that_the_settings_take_and_without_one_nothing_is_done(settings: Settings) -> None:
    settings.ENCRYPTION_KEYS = []
    with pytest.raises(CommandError, match=r"ENCRYPTION_KEYS is not set\. Make a key"):
        call_command("encrypt_at_rest")
    first, second = (said_by("encrypt_at_rest", "--new-key").strip() for _ in range(2))
    assert first != second
    settings.ENCRYPTION_KEYS = [first]
    assert there(decrypted(encrypted(PDF))) == PDF


def test_a_paper_takes_its_hash_along_to_the_prescription(settings: Settings) -> None:
    settings.READ_PAPERS = False
    prescription = a_prescription(a_patient())
    upload = SimpleUploadedFile("a.pdf", PDF)
    paper = add_paper(actor=person("dora"), patient=prescription.patient, upload=upload, month_first=False)
    beside = a_scan()
    take_in_paper(actor=person("dora"), paper=paper, prescription=prescription, settled={})
    scan = prescription.scans.get()
    assert scan.sha256 == hashlib.sha256(PDF).hexdigest()
    (settings.MEDIA_ROOT / (scan.file.name or "")).write_bytes(b"x")
    (line,) = doctors_words(only=("stored-files",))
    assert says([line], f"prescription scan {scan.pk}")
    assert not says([line], f"prescription scan {beside.pk}")
