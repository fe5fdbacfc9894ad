"""For what a test knows to be there although its type allows None."""

from __future__ import annotations

from typing import TypeVar

Thing = TypeVar("Thing")


def there(thing: Thing | None) -> Thing:
    """The thing itself; a test that finds none has failed."""
    assert thing is not None, "Nothing is there."
    return thing
