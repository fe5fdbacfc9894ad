"""A hand with a mouse on the marking page: it knows where on the screen a pixel of the photo lies, as the eye would.

It follows the view by the page's own rules: the whole photo is shown at first, the wheel enlarges it round the pointer,
and the photo never leaves the screen.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from playwright.sync_api import Page, expect

Point = Sequence[float]


class Hand:
    """``scale``: screen pixels a photo pixel; ``left``, ``top``: of the photo's corner within the canvas."""

    def __init__(self, page: Page, photo: tuple[int, int]) -> None:
        page.wait_for_selector("[data-ready=yes]")
        self.page, self.photo = page, photo
        self.refresh()

    def refresh(self) -> None:
        """As after “Whole”: the photo fills the canvas."""
        self.page.get_by_role("button", name="Whole").click()
        self.page.locator("#canvas").scroll_into_view_if_needed()
        box = self.page.locator("#canvas").bounding_box()
        assert box is not None
        self.corner, self.room = (box["x"], box["y"]), (box["width"], box["height"])
        self.scale = min(self.room[0] / self.photo[0], self.room[1] / self.photo[1])
        self.place = [(self.room[axis] - self.photo[axis] * self.scale) / 2 for axis in (0, 1)]
        self._shown()

    def on_screen(self, point: Point) -> tuple[float, float]:
        x, y = (self.corner[axis] + self.place[axis] + point[axis] * self.scale for axis in (0, 1))
        return x, y

    def on_photo(self, place: Point) -> list[float]:
        return [(place[axis] - self.corner[axis] - self.place[axis]) / self.scale for axis in (0, 1)]

    def enlarge(self, point: Point, times: float) -> None:
        """Turn the wheel over a pixel of the photo; it stays under the pointer unless the photo's edge stops it."""
        # The browser tells the wheel's place in whole pixels.
        at = [round(value) for value in self.on_screen(point)]
        self.page.mouse.move(*at)
        self.page.mouse.wheel(0, -400 * math.log(times))
        before = self.scale
        self.scale *= times
        self._shown()
        for axis in (0, 1):
            pointer = at[axis] - self.corner[axis]
            moved = pointer - (pointer - self.place[axis]) * self.scale / before
            self.place[axis] = self._held(moved, axis)

    def _shown(self) -> None:
        expect(self.page.locator("#zoomed")).to_have_text(f"{math.floor(100 * self.scale + 0.5)} %")

    def _held(self, place: float, axis: int) -> float:
        length, room = self.photo[axis] * self.scale, self.room[axis]
        return (room - length) / 2 if length <= room else min(max(place, room - length), 0)

    def press(self, point: Point) -> None:
        self.page.mouse.click(*self.on_screen(point))

    def pull(self, start: Point, end: Point) -> None:
        """Press, move in steps, let go."""
        self.page.mouse.move(*self.on_screen(start))
        self.page.mouse.down()
        self.page.mouse.move(*self.on_screen([(start[0] + end[0]) / 2, (start[1] + end[1]) / 2]))
        self.page.mouse.move(*self.on_screen(end))
        self.page.mouse.up()
