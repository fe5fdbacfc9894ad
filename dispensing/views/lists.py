"""What every list that is shown page by page says of the page that was asked for."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest

from dispensing.queries.paging import Page

NO_SUCH_PAGE = "The address of that page does not hold any more; this is the first."


def say_where_no_such_page(request: HttpRequest, *pages: Page[Any]) -> None:
    if any(page.key_was_broken for page in pages):
        messages.warning(request, NO_SUCH_PAGE)
