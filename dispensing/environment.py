"""What the settings read from the environment: a bad value is reported by its name and by how it is written."""

import ipaddress
import os
import re
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.core.exceptions import ImproperlyConfigured


def listed(name: str) -> list[str]:
    return [part.strip() for part in os.environ.get(name, "").split(",") if part.strip()]


def yes(name: str, default: str) -> bool:
    value = os.environ.get(name, default).lower()
    if value not in {"yes", "no", "1", "0", "true", "false"}:
        raise ImproperlyConfigured(f"{name} is {value!r}; it must be yes or no.")
    return value in {"yes", "1", "true"}


def port(name: str, default: str) -> int:
    value = os.environ.get(name, default)
    if not value.isdecimal() or not 0 < int(value) < 65536:
        raise ImproperlyConfigured(f"{name} is {value!r}; it must be a port, as in 587.")
    return int(value)


def number(name: str, default: str) -> int:
    value = os.environ.get(name, default)
    if not value.isdecimal() or int(value) > 9:
        raise ImproperlyConfigured(f"{name} is {value!r}; it must be a small number, as in 1.")
    return int(value)


def networks(name: str) -> list[ipaddress.IPv4Network | ipaddress.IPv6Network]:
    try:
        return [ipaddress.ip_network(part) for part in listed(name)]
    except ValueError as fault:
        raise ImproperlyConfigured(f"{name} is a list of addresses or networks, as in 127.0.0.1; {fault}.") from None


def one_of(name: str, *values: str) -> str:
    value = os.environ.get(name, values[0])
    if value not in values:
        raise ImproperlyConfigured(f"{name} is {value!r}; it must be {' or '.join(values)}.")
    return value


def time_zone() -> str:
    name = os.environ.get("TIME_ZONE", "Europe/London")
    try:
        return ZoneInfo(name).key
    except (ValueError, ZoneInfoNotFoundError):
        raise ImproperlyConfigured(f"TIME_ZONE is {name!r}; it must be a place, as in Europe/London.") from None


def encryption_keys() -> list[str]:
    keys = listed("ENCRYPTION_KEYS")
    for place, key in enumerate(keys, start=1):
        if not re.fullmatch(r"[A-Za-z0-9_-]{43}=", key):
            # The message leaves it out, because it may be most of a key.
            raise ImproperlyConfigured(
                f"ENCRYPTION_KEYS cannot be read: number {place} is no key as encrypt_at_rest --new-key makes one."
            )
    return keys
