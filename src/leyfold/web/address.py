"""Under which addresses and names this machine is found on the farm's own network."""

from __future__ import annotations

import socket
from contextlib import suppress
from ipaddress import ip_address

__all__ = ["is_loopback", "local_addresses", "local_names"]

_ELSEWHERE = (("203.0.113.1", socket.AF_INET), ("2001:db8::1", socket.AF_INET6))
"""Addresses kept for documentation (RFC 5737, RFC 3849): asked which way leads there, sent nothing."""


def local_addresses() -> tuple[str, ...]:
    """Addresses that phones on the same network may use, the likeliest first; none where there is none."""
    found: dict[str, None] = {}
    for there, family in _ELSEWHERE:
        try:
            with socket.socket(family, socket.SOCK_DGRAM) as way:
                way.connect((there, 9))
                found[way.getsockname()[0]] = None
        except OSError:
            continue
    with suppress(OSError):
        named = socket.getaddrinfo(socket.gethostname(), None)
        found.update(dict.fromkeys(str(info[4][0]) for info in named))
    return tuple(a for a in found if not is_loopback(a) and "%" not in a and not ip_address(a).is_link_local)


def local_names() -> tuple[str, ...]:
    """What this machine calls itself, alone and with `.local` (RFC 6762)."""
    name = socket.gethostname().split(".")[0].lower()
    plain = name if name.isascii() and all(c.isalnum() or c == "-" for c in name) else ""
    return (plain, f"{plain}.local") if plain and plain != "localhost" else ()


def is_loopback(host: str) -> bool:
    """Whether only this machine itself can ask there."""
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"
