"""What a test knows to be there though its type allows for nothing."""

from __future__ import annotations

from typing import TypeVar

Thing = TypeVar("Thing")


def there(thing: Thing | None) -> Thing:
    """The thing itself; a test that finds none has failed."""
    assert thing is not None, "Nothing is there."
    return thing
