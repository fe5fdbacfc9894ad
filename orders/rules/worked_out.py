"""Figures that are worked out when they are first asked for, and then kept. This module must never know which."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, Generic, TypeVar, overload

from dispensing.optics.errors import OpticsError

Result = TypeVar("Result")


class figure(Generic[Result]):
    """A figure worked out once; None if the optics core refuses the input or the arithmetic overflows."""

    def __init__(self, work_out: Callable[[Any], Result | None]):
        self._work_out = work_out
        self.__doc__ = work_out.__doc__

    def __set_name__(self, owner: type, name: str) -> None:
        self._name = name

    @overload
    def __get__(self, owner: None, kind: type) -> figure[Result]: ...
    @overload
    def __get__(self, owner: object, kind: type) -> Result | None: ...
    def __get__(self, owner: object, kind: type) -> figure[Result] | Result | None:
        if owner is None:
            return self
        try:
            result = self._work_out(owner)
        except OpticsError:
            result = None
        if isinstance(result, float) and not math.isfinite(result):
            result = None
        # From now on, the plain attribute is found before this descriptor.
        owner.__dict__[self._name] = result
        return result
