"""What this computer is called on the farm's network."""

from __future__ import annotations

import contextlib
import re
import socket
from ipaddress import ip_address

from tubertrack.apps.accounts.lan.authority import may_vouch_for

ALWAYS = ("localhost", "127.0.0.1")


def local_name() -> str | None:
    """`<hostname>.local`, or None where the host name cannot be part of an address."""
    label = socket.gethostname().split(".")[0].lower()
    return f"{label}.local" if re.fullmatch(r"[a-z0-9]([a-z0-9-]*[a-z0-9])?", label) else None


def answers_to(name: str) -> bool:
    """Whether this computer finds itself under the name (then phones will, mostly)."""
    try:
        return bool(socket.getaddrinfo(name, None))
    except OSError:
        return False


def lan_addresses() -> list[str]:
    """Private IPv4 addresses of this computer, the one it reaches others by first."""
    found: list[str] = []
    with contextlib.suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.connect(("192.0.2.1", 9))  # documentation address (RFC 5737); nothing is sent
        found.append(probe.getsockname()[0])
    with contextlib.suppress(OSError):
        told = socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)
        found += [str(one[4][0]) for one in told]
    return [one for one in dict.fromkeys(found) if _is_on_a_lan(one)]


def _is_on_a_lan(address: str) -> bool:
    return not ip_address(address).is_loopback and may_vouch_for(address)
