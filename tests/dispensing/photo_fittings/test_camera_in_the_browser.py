"""The device's own camera on the page: hints in words and numbers, a countdown, and a picture taken in like a file."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect
from pytest_django.live_server_helper import LiveServer

from dispensing.bootstrap import system_packages
from dispensing.models import FittingPhoto
from dispensing.services.photo_fittings import start_measuring
from tests.accessibility import no_faults
from tests.browser import DESK, LAUNCH_FLAGS, sign_in
from tests.builders import a_frame, a_patient
from tests.people import person

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

WITH_A_CAMERA = ["--use-fake-device-for-media-stream"]
MAY_USE_IT = ["--use-fake-ui-for-media-stream"]


def open_measuring(chromium: Browser, live_server: LiveServer, flags: list[str]) -> Iterator[Page]:
    browser = chromium.browser_type.launch(executable_path=system_packages.chromium(), args=[*LAUNCH_FLAGS, *flags])
    page = browser.new_context(base_url=live_server.url, viewport=DESK).new_page()
    page.set_default_timeout(20_000)
    page.clock.install()  # It runs, until a test stops it.
    measuring = start_measuring(actor=person("ravi"), patient=a_patient(), frame=a_frame(), near_distance_mm=400)
    sign_in(page, "ravi")
    page.goto(f"/photo-fittings/{measuring.public_id}/")
    yield page
    browser.close()


@pytest.fixture
def with_camera(chromium: Browser, live_server: LiveServer) -> Iterator[Page]:
    yield from open_measuring(chromium, live_server, WITH_A_CAMERA + MAY_USE_IT)


@pytest.fixture
def without_camera(chromium: Browser, live_server: LiveServer) -> Iterator[Page]:
    yield from open_measuring(chromium, live_server, MAY_USE_IT)


def shoot(page: Page) -> None:
    page.get_by_role("button", name="Take it in 3 seconds").click()
    for count in (3, 2, 1):
        expect(page.locator("#camera-count")).to_have_text(str(count))
        page.clock.run_for(1000)


def test_two_shots_are_counted_down_looked_at_taken_in_as_two_postures_and_marked_next(with_camera: Page) -> None:
    page = with_camera
    page.get_by_role("button", name="Use this device's camera").click()
    expect(page.locator("#camera-sharpness")).to_have_text(re.compile(r"^\d+, "))
    expect(page.locator("#camera-size")).to_have_text(re.compile(r"^\d+ by \d+ px$"))
    expect(page.locator("#camera-tilt")).to_contain_text("no sensor")
    step = page.locator("#camera-step")
    expect(step).to_have_text("Shot 1 of 2. The patient looks into the lens of the camera.")
    no_faults(page)
    page.clock.pause_at(page.evaluate("Date.now() / 1000 + 1"))
    shoot(page)
    expect(step).to_contain_text("Look at it:")
    page.clock.resume()
    no_faults(page)
    page.get_by_role("button", name="Take it again").click()
    expect(step).to_contain_text("Shot 1 of 2.")
    page.clock.pause_at(page.evaluate("Date.now() / 1000 + 1"))
    shoot(page)
    page.get_by_role("button", name="Keep it").click()
    expect(step).to_contain_text("Shot 2 of 2. Now ask the patient to look away")
    shoot(page)
    page.get_by_role("button", name="Keep it").click()
    page.wait_for_url(re.compile("/photos/.*/mark/"))
    first, second = FittingPhoto.objects.order_by("pk")
    assert (first.view, first.focal_px, first.marks) == ("front", None, {})
    assert second.marks == {"extra": {"renewed": True}}
    expect(page.get_by_role("link", name="Next photo")).to_be_visible()
    expect(
        page.get_by_text("The camera did not record its focal length: measure and type it, or the ± is wide.")
    ).to_be_visible()


def test_without_a_camera_the_page_says_what_to_do(without_camera: Page) -> None:
    page = without_camera
    page.get_by_role("button", name="Use this device's camera").click()
    expect(page.locator("#camera-trouble")).to_contain_text("No camera was found")
    page.get_by_role("button", name="Close").click()
    expect(page.locator("#camera")).to_be_hidden()
