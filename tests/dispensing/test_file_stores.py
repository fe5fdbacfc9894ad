"""Scans and photos in a folder and in an object store: the same pages, the same bytes, and gone when they are deleted.

The object store is a server on this machine that speaks S3 as others do; nothing is replaced in our own code.
"""

from __future__ import annotations

import hashlib
import io
from collections.abc import Callable, Iterator
from typing import Any

import boto3
import pytest
from cryptography.fernet import Fernet
from django.core.files.storage import FileSystemStorage, default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.http import FileResponse
from moto.server import ThreadedMotoServer
from PIL import Image
from pytest_django import DjangoCaptureOnCommitCallbacks, Settings

from dispensing.at_rest import MARK
from dispensing.doctor.registry import Level
from dispensing.file_stores import IN_MEMORY_BYTES, file_store
from dispensing.models import Prescription, PrescriptionScan
from dispensing.services.files import encrypt_anew, keep, opened
from dispensing.services.scans import add_scan, remove_scan
from tests.builders import a_patient, a_prescription
from tests.doctor.test_doctor import said
from tests.people import signed_in

pytestmark = pytest.mark.django_db

PDF = b"%PDF-1.4\n" + bytes(range(256)) * 4096 + b"\n%%EOF\n"


@pytest.fixture(scope="module")
def server() -> Iterator[str]:
    running = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    running.start()
    host, port = running.get_host_and_port()
    yield f"http://{host}:{port}"
    running.stop()


@pytest.fixture
def bucket(server: str, settings: Settings, monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
    """An empty bucket, and the practice's files kept in a folder of it."""
    for name, value in {"AWS_ACCESS_KEY_ID": "us", "AWS_SECRET_ACCESS_KEY": "ours"}.items():
        monkeypatch.setenv(name, value)
    made = boto3.resource("s3", endpoint_url=server, region_name="eu-central-1").Bucket("practice")
    made.create(CreateBucketConfiguration={"LocationConstraint": "eu-central-1"})
    store = file_store(f"s3://practice/of-ours?endpoint={server}&region=eu-central-1")
    settings.STORAGES = {**settings.STORAGES, "default": store}
    yield made
    made.objects.all().delete()
    made.delete()


@pytest.fixture(params=["folder", "object store"])
def stored_names(request: pytest.FixtureRequest, settings: Settings) -> Callable[[], list[str]]:
    """What lies in the store now; the test runs once on each kind."""
    if request.param == "folder":
        assert isinstance(default_storage, FileSystemStorage)
        return lambda: sorted(path.name for path in settings.MEDIA_ROOT.rglob("*") if path.is_file())
    bucket = request.getfixturevalue("bucket")
    return lambda: sorted(found.key.rpartition("/")[2] for found in bucket.objects.all())


@pytest.fixture
def prescription() -> Prescription:
    return a_prescription(a_patient())


def a_scan(prescription: Prescription, content: bytes = PDF) -> PrescriptionScan:
    upload = SimpleUploadedFile("Penhallow Margery.pdf", content)
    return add_scan(actor=None, prescription=prescription, upload=upload)


def test_a_file_comes_back_as_it_was_kept(stored_names: Callable[[], list[str]], prescription: Prescription) -> None:
    kept, other = a_scan(prescription), a_scan(prescription, PDF + b"%%EOF\n")
    answer = signed_in("dora").get(f"/scans/{kept.public_id}/")
    assert isinstance(answer, FileResponse)
    assert hashlib.sha256(answer.getvalue()).digest() == hashlib.sha256(PDF).digest()
    assert answer["Cache-Control"] == "private, no-store"
    assert len(stored_names()) == 2
    assert "Penhallow" not in "".join(stored_names())
    assert other.file.size == len(PDF) + 6


def test_a_large_picture_is_read_without_being_held_in_memory(
    stored_names: Callable[[], list[str]], prescription: Prescription
) -> None:
    """An object store hands it over through a temporary file, whose beginning is read again like a file's own."""
    pixels = hashlib.shake_256(b"noise").digest(1500 * 1200 * 3)
    out = io.BytesIO()
    Image.frombytes("RGB", (1500, 1200), pixels).save(out, "PNG")
    assert out.tell() > IN_MEMORY_BYTES
    scan = PrescriptionScan(prescription=prescription, content_type="image/png")
    keep(scan.file, out.getvalue(), "png")
    with opened(scan.file) as file:
        assert Image.open(file).size == (1500, 1200)
        file.seek(0)
        assert file.read() == out.getvalue()


def test_a_file_goes_with_its_row_and_only_then(
    stored_names: Callable[[], list[str]],
    prescription: Prescription,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    gone, other = a_scan(prescription), a_scan(prescription)
    with django_capture_on_commit_callbacks(execute=True), transaction.atomic():
        remove_scan(actor=None, scan=gone)
        transaction.set_rollback(True)
    assert len(stored_names()) == 2
    with django_capture_on_commit_callbacks(execute=True):
        remove_scan(actor=None, scan=PrescriptionScan.objects.exclude(pk=other.pk).get())
    assert stored_names() == [(other.file.name or "").rpartition("/")[2]]


def test_a_file_that_is_not_there_is_not_found(
    stored_names: Callable[[], list[str]], prescription: Prescription
) -> None:
    scan = a_scan(prescription)
    default_storage.delete(scan.file.name or "")
    assert stored_names() == []
    assert signed_in("dora").get(f"/scans/{scan.public_id}/").status_code == 404


def test_a_file_is_encrypted_anew_under_its_own_name_in_either_store(
    stored_names: Callable[[], list[str]], prescription: Prescription, settings: Settings
) -> None:
    plain = a_scan(prescription)
    settings.ENCRYPTION_KEYS = [Fernet.generate_key().decode()]
    encrypted = a_scan(prescription)
    names, before = stored_names(), _stored(encrypted)
    assert [found.startswith(MARK) for found in (_stored(plain), before)] == [False, True]
    assert (encrypt_anew(plain.file), encrypt_anew(encrypted.file)) == (True, False)
    assert _stored(plain).startswith(MARK)
    assert (stored_names(), _stored(encrypted)) == (names, before)
    for scan in (plain, encrypted):
        with opened(scan.file) as file:
            assert file.read() == PDF


def _stored(scan: PrescriptionScan) -> bytes:
    with default_storage.open(scan.file.name or "") as file:
        return bytes(file.read())


def test_files_lie_in_the_folder_of_the_bucket_that_was_named(bucket: Any, prescription: Prescription) -> None:
    a_scan(prescription)
    assert [found.key.rpartition("/")[0] for found in bucket.objects.all()] == ["of-ours/prescriptions"]


def test_the_doctor_tries_the_store_and_leaves_nothing(bucket: Any) -> None:
    assert {diagnosis.level for diagnosis in said("files")} == {Level.OK}
    assert not list(bucket.objects.all())


def test_the_doctor_says_so_when_the_bucket_is_not_there(bucket: Any, server: str, settings: Settings) -> None:
    store = file_store(f"s3://no-such-bucket?endpoint={server}&region=eu-central-1")
    settings.STORAGES = {**settings.STORAGES, "default": store}
    assert {diagnosis.level for diagnosis in said("files")} == {Level.WRONG}


@pytest.mark.parametrize(
    "address",
    [
        "practice",
        "s3://",
        "https://practice/folder",
        "s3://key:secret@practice",
        "s3://practice?endpoint",
        "s3://practice?colour=blue",
    ],
)
def test_an_address_that_cannot_be_read_is_refused_with_how_it_is_written(address: str) -> None:
    with pytest.raises(ValueError) as refused:
        file_store(address)
    assert "secret@" not in str(refused.value)


def test_without_an_endpoint_the_store_is_the_one_such_programs_know() -> None:
    options = file_store("s3://practice")["OPTIONS"]
    assert (options["bucket_name"], options["location"], options["endpoint_url"]) == ("practice", "", None)
    assert options["addressing_style"] == "auto"
