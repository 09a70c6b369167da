"""Where the page is served, and by which names a browser may ask for it."""

from __future__ import annotations

import ipaddress
import socket
from collections.abc import Sequence
from urllib.parse import urlsplit

from msgspec import Struct

LOOPBACK = "127.0.0.1"
HOME = "home"
NOWHERE = ("192.0.2.1", 9)  # RFC 5737: an address for documents; nothing is sent to it


class Place(Struct):
    """address to listen at; hosts: names with their ports; url: what a person opens; alone: this computer only."""

    address: str
    hosts: set[str]
    scheme: str
    url: str
    alone: bool


def place(address: str, port: int, names: Sequence[str] = (), *, tls: bool = False, behind: str = "") -> Place:
    """ValueError says what is wrong with an address or a proxy's. OSError if this computer is in no network."""
    scheme = "https" if tls else "http"
    if behind:
        proxy = urlsplit(behind)
        wrong = proxy.path.strip("/") or proxy.query or proxy.fragment or "@" in proxy.netloc
        if proxy.scheme not in ("http", "https") or not proxy.hostname or wrong:
            raise ValueError(f"{behind!r} is no address of a proxy: give one such as https://pit.example.org")
        shown = f"[{proxy.hostname}]" if ":" in proxy.hostname else proxy.hostname
        usual = 443 if proxy.scheme == "https" else 80
        ported = proxy.port if proxy.port != usual else None  # a browser leaves the usual one out
        [host] = _ported([shown], ported)
        return Place(LOOPBACK, {host, *_ported(names, ported)}, proxy.scheme, f"{proxy.scheme}://{host}", False)
    at = _in_network() if address == HOME else address or LOOPBACK
    if at == "localhost":
        at = LOOPBACK
    try:
        found = ipaddress.ip_address(at)
    except ValueError:
        raise ValueError(f'{address!r} is no address: give one of this computer, or "{HOME}"') from None
    if found.is_unspecified:
        raise ValueError(f'{address} is every address at once: give one of this computer, or "{HOME}"')
    if found.is_global:
        raise ValueError(
            f"{address} can be reached from the whole internet: serve the page in your network, or on this computer "
            "behind a proxy of your own (--behind)"
        )
    shown = f"[{at}]" if found.version == 6 else at
    standard = 443 if tls else 80
    hosts = {f"{shown}:{port}", *_ported(names, port)}
    if found.is_loopback:
        hosts.add(f"localhost:{port}")
    if port == standard:  # then a browser leaves it out
        hosts |= {host.rpartition(":")[0] for host in hosts}
    return Place(at, hosts, scheme, f"{scheme}://{shown}:{port}", found.is_loopback)


def alone(url: str) -> bool:
    """Whether only this computer reaches it."""
    host = urlsplit(url).hostname or ""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def _ported(names: Sequence[str], port: int | None) -> set[str]:
    return {f"{name.lower()}:{port}" if port else name.lower() for name in names}


def _in_network() -> str:
    """This computer's address in its network: the one it would send from."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as found:
        found.connect(NOWHERE)  # of a datagram socket: a look at the routes, nothing is sent
        return str(found.getsockname()[0])
