"""A scan read into the form: filled in beside its snippets, looked at field by field, compared with what is typed."""

from __future__ import annotations

import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from dispensing.models import AuditEvent, PaperReading, Patient, Prescription, PrescriptionScan
from dispensing.presentation.papers import differing
from dispensing.services import papers
from dispensing.services.paper_figures import figures_of_fields
from dispensing.services.papers import read_now, start_again_if_it_died
from tests.browser import sign_in
from tests.builders import a_patient, a_prescription
from tests.dispensing.api.callers import based_on, caller, faults
from tests.known import there
from tests.people import Answer, signed_in

pytestmark = pytest.mark.django_db

PDF = b"%PDF-1.4\n%%EOF\n"


def field(name: str, value: Any, typed: str, unsure: str = "") -> dict[str, Any]:
    return {"name": name, "value": value, "typed": typed, "text": typed, "unsure": unsure, "snippet": "/9j/"}


FOUND = [
    field("right-sphere", -3.25, "-3.25"),
    field("right-cylinder", -1.0, "-1.00"),
    field("right-axis", 170, "170"),
    field("left-sphere", None, "", "No sign can be read: plus or minus?"),
    field("tested_on", "2026-03-12", "2026-03-12"),
    field("prescriber", "Dr. Test Person", "Dr. Test Person"),
]


def a_paper(patient: Patient, **facts: Any) -> PaperReading:
    made = PaperReading(patient=patient, content_type="application/pdf", **{"state": "read", "found": FOUND, **facts})
    made.file.save("paper.pdf", SimpleUploadedFile("paper.pdf", PDF), save=False)
    made.save()
    return made


def send(patient: Patient, what: str, **typed: Any) -> Answer:
    return signed_in("dora").post(f"/patients/{patient.public_id}/prescriptions/{what}/", typed)


def filled_in(patient: Patient, paper: PaperReading, **more: Any) -> dict[str, Any]:
    """What the form would post once it is filled in and the use is chosen, without any tick."""
    return {
        "paper": str(paper.public_id),
        "right-sphere": "-3.25",
        "right-cylinder": "-1.00",
        "right-axis": "170",
        "left-sphere": "+0.50",
        "tested_on": "12/03/2026",
        "prescriber": "Dr. Test Person",
        "source": "written",
        "use": "distance",
        "confirmed": ["no-vertex", "signs-differ", "one-eye-plus"],
        **more,
    }


ALL_SEEN = ["right-sphere", "right-cylinder", "right-axis", "tested_on", "prescriber"]


def test_what_was_read_fills_the_empty_fields_and_leaves_what_is_typed() -> None:
    patient = a_patient()
    paper = a_paper(patient)
    answer = send(patient, "read", paper=str(paper.public_id), fill="yes", **{"right-axis": "17", "use": "distance"})
    entry = answer.context["entry"]
    assert [entry.right[name].value() for name in ("sphere", "cylinder", "axis")] == ["-3.25", "-1.00", "17"]
    assert not entry.left["sphere"].value()
    assert entry.facts["tested_on"].value() == "12/03/2026"
    assert (entry.facts["prescriber"].value(), entry.facts["source"].value()) == ("Dr. Test Person", "written")
    page = answer.content.decode()
    assert f"/papers/{paper.public_id}/snippets/right-sphere/" in page
    assert "No sign can be read: plus or minus?" in page
    assert entry.remarks[0].message == "Right eye: axis typed 17°, on the paper 170°."


def test_a_balance_lens_on_the_paper_is_ticked_beside_its_snippet_and_waits_to_be_seen() -> None:
    patient = a_patient()
    paper = a_paper(patient, found=[*FOUND, field("left-balance", True, "on")])
    answer = send(patient, "read", paper=str(paper.public_id), fill="yes")
    entry = answer.context["entry"]
    assert [form["balance"].value() for _, form in entry.eyes] == [False, True]
    assert f"/papers/{paper.public_id}/snippets/left-balance/" in answer.content.decode()
    assert "left balance lens" in entry.unseen


def test_nothing_is_accepted_that_nobody_looked_at() -> None:
    patient = a_patient()
    paper = a_paper(patient)
    posted = filled_in(patient, paper, seen=[name for name in ALL_SEEN if name != "right-axis"])
    entry = send(patient, "new", **posted).context["entry"]
    assert entry.unseen == ["right axis"]
    assert not Prescription.objects.exists()


def test_a_paper_looked_at_field_by_field_is_taken_in_with_its_scan_and_who_confirmed_it() -> None:
    patient, other = a_patient(), a_patient(given_names="Another")
    paper, bystander = a_paper(patient), a_paper(other)
    answer = send(patient, "new", **_all_ticked(patient, paper, seen=ALL_SEEN))
    assert answer.status_code == 302, answer.context and answer.context["entry"].open_questions
    taken = Prescription.objects.get()
    scan = PrescriptionScan.objects.get()
    paper.refresh_from_db()
    assert (paper.scan, scan.prescription, paper.file.name) == (scan, taken, "")
    assert default_storage.exists(there(scan.file.name))
    assert there(paper.confirmed_by).username == "dora"
    assert taken.read_off_paper == {"right": {"sphere": -3.25, "cylinder": -1.0, "axis": 170}}
    event = AuditEvent.objects.get(verb="paper.confirm")
    assert event.changes["fields"] == "right-sphere, right-cylinder, right-axis, tested_on, prescriber"
    bystander.refresh_from_db()
    assert (bystander.scan, bystander.confirmed_by) == (None, None)


def _all_ticked(patient: Patient, paper: PaperReading, **more: Any) -> dict[str, Any]:
    """The same with every question answered that the form asks of it."""
    posted = filled_in(patient, paper, **more)
    asked = send(patient, "live", **posted).context["entry"].remarks
    return posted | {"confirmed": [remark.key for remark in asked]}


def test_a_figure_typed_otherwise_than_it_was_read_asks_and_is_settled_by_a_tick() -> None:
    patient = a_patient()
    paper = a_paper(patient)
    posted = _all_ticked(patient, paper, seen=ALL_SEEN, **{"right-sphere": "+3.25"})
    asked = "paper-differs-right-sphere-3.25"
    assert asked in posted["confirmed"]
    kept = [key for key in posted["confirmed"] if key != asked]
    refused = send(patient, "new", **posted | {"confirmed": kept}).context["entry"]
    assert [remark.key for remark in refused.open_questions] == [asked]
    assert refused.open_questions[0].message == "Right eye: sphere typed +3.25, on the paper −3.25."
    assert send(patient, "new", **posted).status_code == 302
    taken = Prescription.objects.get()
    assert taken.read_off_paper == {"right": {"cylinder": -1.0, "axis": 170}}
    paper.refresh_from_db()
    assert paper.settled["right-sphere"]["reason"] == "The paper says what is typed; it was read wrongly"


def test_a_scan_added_later_shows_what_differs_until_somebody_settles_it() -> None:
    given = a_prescription(a_patient(), right={"sphere": 3.25})
    scan = PrescriptionScan.objects.create(prescription=given, content_type="application/pdf")
    paper = PaperReading.objects.create(patient=given.patient, scan=scan, content_type="application/pdf")
    papers.finish(paper.pk, "read", "", FOUND)
    given.refresh_from_db()
    assert there(given.read_off_paper)["right"]["sphere"] == -3.25
    desk = signed_in("dora")
    page = desk.get(f"/prescriptions/{given.public_id}/").content.decode()
    assert "Right sphere: recorded +3.25, on the paper −3.25" in page
    for reason, fault in (("  ", "Say why it stays"), ("x" * 201, "This has 201 characters; at most 200 fit.")):
        told = desk.post(f"/papers/{paper.public_id}/settle/", {"name": "right-sphere", "reason": reason})
        (beside,) = told.context["papers"]
        assert (beside.refused.reason, beside.refused.name) == (reason, "right-sphere")
        assert fault in beside.refused.fault
        assert f'value="{reason}" aria-invalid="true"' in told.content.decode()
    paper.refresh_from_db()
    assert paper.settled == {}
    desk.post(f"/papers/{paper.public_id}/settle/", {"name": "right-sphere", "reason": "The pen slipped"})
    given.refresh_from_db()
    assert given.read_off_paper == {"right": {"cylinder": -1.0, "axis": 170}}
    page = desk.get(f"/prescriptions/{given.public_id}/").content.decode()
    assert "Right sphere: recorded" not in page
    assert "The pen slipped" in page
    desk.post(f"/scans/{scan.public_id}/remove/")
    given.refresh_from_db()
    assert given.read_off_paper is None


def test_a_prism_is_settled_as_a_whole_and_shows_the_snippet_that_there_is() -> None:
    given = a_prescription(a_patient(), right={"prism_horizontal": 2, "prism_horizontal_base": "in"})
    up = [field("right-prism_vertical", 1.0, "1.00"), field("right-prism_vertical_base", "up", "up")]
    scan = PrescriptionScan.objects.create(prescription=given, content_type="application/pdf")
    paper = PaperReading.objects.create(patient=given.patient, scan=scan, state="read", found=up)
    (one,) = differing(paper, given)
    assert (one.name, one.recorded, one.read) == ("right-prism_vertical", "2.00 Δ in", "1.00 Δ up")
    assert figures_of_fields(up, ["left-prism_vertical"]) == {"right": {"prism": [{"amount": 1.0, "base": "up"}]}}
    for settled in ("right-prism", "right-prism_horizontal", "right-prism_vertical"):
        assert figures_of_fields(up, [settled]) == {}


def test_a_scan_is_stored_before_anything_reads_it_and_stays_if_the_reader_dies(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    patient = a_patient()
    upload = SimpleUploadedFile("paper.pdf", PDF)
    signed_in("dora").post(f"/patients/{patient.public_id}/papers/", {"paper_file": upload})
    paper = PaperReading.objects.get()
    assert (paper.state, default_storage.exists(there(paper.file.name))) == ("waiting", True)

    def dies(*_: Any, **__: Any) -> None:
        raise RuntimeError("no more memory")

    monkeypatch.setattr(papers, "recognise_file", dies)
    read_now(paper.pk, False)
    paper.refresh_from_db()
    assert (paper.state, paper.said) == ("failed", papers.GAVE_UP)
    assert default_storage.exists(there(paper.file.name))


def test_a_file_that_is_no_scan_is_refused_in_the_panel_and_nothing_is_stored() -> None:
    patient = a_patient()
    upload = SimpleUploadedFile("paper.txt", b"R -3.25")
    page = signed_in("dora").post(f"/patients/{patient.public_id}/papers/", {"paper_file": upload}).content.decode()
    assert "JPEG, PNG, WebP and HEIC photos are taken" in page
    assert not PaperReading.objects.exists()


def test_a_reader_that_died_is_started_once_more_and_then_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    started: list[int] = []
    monkeypatch.setattr(papers, "start", lambda pk, month_first: started.append(pk))
    paper = a_paper(a_patient(), state="reading", attempts=1, found=[])
    just_alive = timezone.now() - papers.DIED_AFTER + timedelta(seconds=20)
    for since, expected in ((just_alive, []), (just_alive - timedelta(seconds=40), [paper.pk])):
        paper.started_at = since
        start_again_if_it_died(paper, False)
        assert started == expected
    paper.attempts = 2
    start_again_if_it_died(paper, False)
    paper.refresh_from_db()
    assert (paper.state, started) == ("failed", [paper.pk])


def test_the_paper_of_somebody_else_is_said() -> None:
    patient = a_patient(family_name="Sample")
    from dispensing.prescribing.paper.reading import Reading
    from dispensing.prescribing.paper.words import Read
    from dispensing.recognition.runner import Recognised

    def said(name: str, born: Any) -> str:
        facts = {
            "patient": Read(name, name, 1.0, (0, 0, 1, 1), 1),
            "born_on": Read(born, str(born), 1.0, (0, 0, 1, 1), 1),
        }
        page: Any = None
        read = Recognised([page]) if page else Recognised()
        return papers._said(patient, read, Reading(facts=facts))

    other = patient.born_on.replace(year=patient.born_on.year - 1)
    assert f"somebody born {other:%d %b %Y}" in said("A. Sample", other)
    assert "“B. Muster”. Is this the right patient?" in said("B. Muster", patient.born_on)
    assert "right patient" not in said("SAMPLE, A.", patient.born_on)


def test_the_paper_of_somebody_else_is_taken_in_only_once_somebody_says_that_it_is_not() -> None:
    patient = a_patient(family_name="Sample")
    other = patient.born_on.replace(year=patient.born_on.year - 1)
    named, born = field("patient", "A. Sample", ""), field("born_on", other.isoformat(), "")
    paper = a_paper(patient, found=[*FOUND, named, born])
    posted = _all_ticked(patient, paper, seen=ALL_SEEN)
    asked = f"paper-differs-whose-{paper.public_id}"
    left = [key for key in posted["confirmed"] if key != asked]
    (question,) = send(patient, "new", **posted | {"confirmed": left}).context["entry"].open_questions
    assert (question.key, question.tick) == (asked, "Yes, this is the patient's own paper")
    assert question.message.startswith(f"The paper is of somebody born {other:%d %b %Y}; this patient was born")
    assert send(patient, "new", **posted).status_code == 302
    fields = AuditEvent.objects.get(verb="paper.confirm").changes["fields"]
    assert "born_on" not in fields
    born["value"] = patient.born_on.isoformat()
    own = a_paper(patient, found=[*FOUND, named, born])
    remarks = send(patient, "live", **filled_in(patient, own)).context["entry"].remarks
    assert not [remark for remark in remarks if "whose" in remark.key]


def test_the_whole_scan_can_be_opened_until_it_is_taken_in() -> None:
    patient = a_patient()
    paper = a_paper(patient)
    shown: Any = signed_in("dora").get(f"/papers/{paper.public_id}/file/")
    assert b"".join(shown.streaming_content) == PDF
    assert shown.headers["Content-Disposition"].startswith("attachment")
    send(patient, "new", **_all_ticked(patient, paper, seen=ALL_SEEN))
    assert signed_in("dora").get(f"/papers/{paper.public_id}/file/").status_code == 404


def test_a_scan_not_taken_in_can_be_removed_and_one_that_is_cannot() -> None:
    patient = a_patient()
    paper, other = a_paper(patient), a_paper(patient)
    signed_in("dora").post(f"/papers/{paper.public_id}/discard/")
    assert list(PaperReading.objects.all()) == [other]
    send(patient, "new", **_all_ticked(patient, other, seen=ALL_SEEN))
    assert signed_in("dora").post(f"/papers/{other.public_id}/discard/").status_code == 404


def test_the_same_prescription_taken_in_twice_is_noticed_and_another_of_that_day_is_not() -> None:
    patient = a_patient()
    given = a_prescription(patient)
    same = {
        "right-sphere": "-3.25",
        "right-cylinder": "-1.00",
        "right-axis": "170",
        "left-sphere": "-2.75",
        "tested_on": "30/10/2026",
        "use": "distance",
    }

    def asked(who: Patient, **more: str) -> list[str]:
        entry = send(who, "live", **same | more).context["entry"]
        return [remark.message for remark in entry.remarks if remark.key == f"twice:{given.public_id}"]

    assert asked(patient) == ["The same prescription of 30 Oct 2026 is on record already. Is this another one?"]
    assert asked(patient, **{"right-sphere": "-4.25", "right-cylinder": "+1.00", "right-axis": "80"}) != []
    assert asked(patient, **{"right-sphere": "-3.50"}) == asked(patient, **{"right-add": "2.00"}) == []
    assert asked(patient, **{"left-balance": "on"}) == []
    assert asked(patient, use="near") == asked(patient, tested_on="29/10/2026") == []
    assert asked(patient, corrected=str(given.public_id)) == asked(a_patient()) == []


def test_a_program_sends_a_scan_in_and_asks_how_far_it_is() -> None:
    program, patient = caller("dora"), a_patient()
    address = reverse("api-paper-list")
    upload = {"patient": str(patient.public_id), "file": SimpleUploadedFile("paper.pdf", PDF)}
    sent = program.post(address, upload, format="multipart")
    assert (sent.status_code, sent.json()["state"], sent.json()["found"]) == (201, "waiting", [])
    paper = PaperReading.objects.get(patient=patient)
    where = {"confidence": 0.98, "box": [10.0, 20.0, 90.0, 30.0], "page": 1}
    papers.finish(paper.pk, "read", "Only the first 20 of 40 pages were read.", [FOUND[0] | where, FOUND[3]])
    told = program.get(sent.headers["Location"]).json()
    assert (told["state"], told["said"], told["prescription"]) == (
        "read",
        "Only the first 20 of 40 pages were read.",
        None,
    )
    first, second = told["found"]
    assert first == {"name": "right-sphere", "value": -3.25, "text": "-3.25", "unsure": "", **where}
    assert (second["value"], second["unsure"], second["box"]) == (None, "No sign can be read: plus or minus?", None)
    wrong = upload | {"file": SimpleUploadedFile("paper.txt", b"R -3.25")}
    assert "photos are taken" in faults(program.post(address, wrong, format="multipart"))["file"]
    assert PaperReading.objects.count() == 1


def test_a_program_takes_in_what_a_person_looked_at_by_the_same_rules_as_the_page() -> None:
    program, patient = caller("dora"), a_patient()
    paper, others = a_paper(patient), a_paper(a_patient(given_names="Another"))
    address = reverse("api-prescription-list")
    typed = {
        "patient": str(patient.public_id), "paper": str(paper.public_id), "tested_on": "2026-03-12", "use": "distance",
        "source": "written", "prescriber": "Dr. Test Person",
        "right": {"sphere": -3.25, "cylinder": -1.0, "axis": 17}, "left": {"sphere": -3.0},
    }  # fmt: skip
    unseen = faults(program.post(address, typed))
    assert unseen["seen"].startswith("Nobody has looked at right-sphere, right-cylinder, right-axis, tested_on, presc")
    typed["seen"] = ALL_SEEN
    asked = program.post(address, typed).json()["questions"]
    assert [one["message"] for one in asked] == ["Right eye: axis typed 17°, on the paper 170°."]
    assert "still to be taken in" in faults(program.post(address, typed | {"paper": str(others.public_id)}))["paper"]
    assert not Prescription.objects.exists()
    made = program.post(address, typed | {"confirmed": [asked[0]["key"]]})
    assert made.status_code == 201, made.json()
    paper.refresh_from_db()
    assert there(paper.scan).prescription.public_id == uuid.UUID(made.json()["public_id"])
    assert (there(paper.confirmed_by).username, list(paper.settled)) == ("dora", ["right-axis"])
    shown = program.get(reverse("api-paper-detail", args=[paper.public_id])).json()
    assert shown["prescription"] == made.json()["public_id"]
    again = program.put(reverse("api-prescription-detail", args=[made.json()["public_id"]]), typed, headers=based_on(1))
    assert "still to be taken in" in faults(again)["paper"]
    others.refresh_from_db()
    assert (others.scan, others.confirmed_by) == (None, None)


@pytest.mark.django_db(transaction=True)
@pytest.mark.browser
def test_what_was_read_fills_the_form_by_itself_and_enter_goes_through_it_field_by_field(page: Page) -> None:
    patient = a_patient()
    paper = a_paper(patient, state="reading", started_at=timezone.now(), found=[])
    sign_in(page, "dora")
    page.goto(f"/patients/{patient.public_id}/prescriptions/new/")
    expect(page.get_by_text("The scan is being read.")).to_be_visible()
    papers.finish(paper.pk, "read", "", FOUND)
    for field in ("id_right-sphere", "id_right-cylinder", "id_right-axis", "id_tested_on", "id_prescriber"):
        expect(page.locator(f"#{field}")).to_be_focused()
        page.keyboard.press("Enter")
    expect(page.locator("#id_left-sphere")).to_be_focused()
    page.keyboard.type("-3.00")
    page.keyboard.press("Enter")
    expect(page.locator("#id_use")).to_be_focused()
    page.locator("#id_use").select_option("distance")
    page.get_by_role("button", name="Take in", exact=True).click()
    page.wait_for_url(f"**/patients/{patient.public_id}/")
    paper.refresh_from_db()
    assert there(paper.confirmed_by).username == "dora"
