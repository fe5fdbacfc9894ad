"""What every page needs to know: the practice and its limits, and what the person signed in may do."""

from functools import cached_property
from typing import Any

from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject

from dispensing.access import abilities_of, must_set_up_second_factor
from dispensing.models import Practice
from dispensing.queries.limits import limits_in_force
from dispensing.static_files import not_collected


class May:
    """``{% if may.order_send %}``: the abilities of the person signed in, by name with underscores."""

    def __init__(self, user: Any):
        self._user = user

    @cached_property
    def _names(self) -> frozenset[str]:
        return frozenset(str(ability).replace(".", "_") for ability in abilities_of(self._user))

    def __getitem__(self, name: str) -> bool:
        return name in self._names


def practice(request: HttpRequest) -> dict[str, Any]:
    return {
        "practice": SimpleLazyObject(Practice.current),
        "may": May(getattr(request, "user", None)),
        "must_have_second_factor": SimpleLazyObject(lambda: must_set_up_second_factor(request)),
        "limits": SimpleLazyObject(limits_in_force),
        "static_files_missing": not_collected,
    }
