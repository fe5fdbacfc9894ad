"""Where a signed post to a lab may go. Addresses are typed by people, so they must never lead into our own network.

Pure: it reads no settings. HTTPS only, to a public address. A name is looked up once, and the connection goes to the
very address that was judged here, so that a name cannot mean one machine when it is judged and another when it is
used. ``loopback``: this machine itself is allowed too, without encryption, for the demo and for tests.
"""

from __future__ import annotations

import ipaddress
import socket
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from urllib.parse import SplitResult, urlsplit

LONGEST = 500
HERE = ("localhost", "127.0.0.1", "::1")
NAT64 = ipaddress.ip_network("64:ff9b::/96")
PORTS = {"https": 443, "http": 80}
Address = ipaddress.IPv4Address | ipaddress.IPv6Address


class AddressRefused(ValueError):
    """Why nothing is sent there, in words for the person who set the lab up."""


class NameNotFound(Exception):
    """The name has no address at present; it may have one later."""


@dataclass(frozen=True)
class Target:
    """``host``: what the certificate must be for. ``ip``: the one address that is connected to."""

    scheme: str
    host: str
    port: int
    path: str
    ip: str

    @property
    def host_header(self) -> str:
        host = f"[{self.host}]" if ":" in self.host else self.host
        return host if self.port == PORTS[self.scheme] else f"{host}:{self.port}"


def checked(url: str, *, loopback: bool = False) -> SplitResult:
    """The parts of an address that may be typed; raises `AddressRefused`. Nothing is looked up."""
    if len(url) > LONGEST or any(not "!" <= letter <= "~" for letter in url):
        raise AddressRefused("Write the address as in https://lab.example/orders, without spaces or accents.")
    try:
        parts = urlsplit(url)
        host, port = parts.hostname or "", parts.port
    except ValueError:
        raise AddressRefused("This is not an address. Write it as in https://lab.example/orders.") from None
    if parts.scheme != "https" and not (loopback and parts.scheme == "http" and host in HERE):
        raise AddressRefused("The address must begin with https://, so that nobody reads the order on its way.")
    if not host or port == 0:
        raise AddressRefused("This is not an address. Write it as in https://lab.example/orders.")
    if parts.username is not None or parts.password is not None:
        raise AddressRefused("Leave name and password out of the address; the post is signed instead.")
    if parts.fragment:
        raise AddressRefused("Leave out what follows the # in the address.")
    _refuse_typed_number(host, loopback)
    return parts


def resolved(url: str, *, loopback: bool = False, look_up: Callable[..., Any] = socket.getaddrinfo) -> Target:
    """Where to connect to now. Raises `AddressRefused`, and `NameNotFound` if the name has no address at present."""
    parts = checked(url, loopback=loopback)
    host, port = parts.hostname or "", parts.port or PORTS[parts.scheme]
    try:
        rows = look_up(host, port, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError) as error:
        raise NameNotFound(f"{host} has no address at present.") from error
    found = [str(row[4][0]) for row in rows]
    if not found:
        raise NameNotFound(f"{host} has no address at present.")
    # One bad address among good ones is enough: it is how a name is turned against us.
    for ip in found:
        if not may_connect(ip, loopback=loopback, unencrypted=parts.scheme == "http"):
            raise AddressRefused(f"{host} leads to {ip}, which is not an address on the public internet.")
    path = f"{parts.path or '/'}{'?' + parts.query if parts.query else ''}"
    return Target(parts.scheme, host, port, path, found[0])


def may_connect(ip: str, *, loopback: bool = False, unencrypted: bool = False) -> bool:
    """Whether orders may be posted to this address, however it is wrapped in another."""
    try:
        address = ipaddress.ip_address(ip)
    except ValueError:
        return False
    address = _unwrapped(address)
    if address.is_loopback:
        return loopback
    public = address.is_global and not address.is_multicast and not address.is_reserved
    return public and not unencrypted and getattr(address, "scope_id", None) is None


def _refuse_typed_number(host: str, loopback: bool) -> None:
    """An address typed as a number is judged at once, so that nobody waits for the first order to learn of it."""
    try:
        ipaddress.ip_address(host)
    except ValueError:
        return
    if not may_connect(host, loopback=loopback):
        raise AddressRefused(f"{host} is not an address on the public internet.")


def _unwrapped(address: Address) -> Address:
    """The IPv4 address that an IPv6 address stands for, if it stands for one."""
    if isinstance(address, ipaddress.IPv4Address):
        return address
    inside = address.ipv4_mapped or address.sixtofour or (address.teredo[1] if address.teredo else None)
    if inside is None and address in NAT64:
        inside = ipaddress.IPv4Address(int(address) & 0xFFFFFFFF)
    return inside or address
