"""What this computer is called on the farm's network."""

from __future__ import annotations

import contextlib
import re
import socket
import struct
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from ipaddress import ip_address
from pathlib import Path

from tubertrack.apps.accounts.lan.authority import may_vouch_for

ALWAYS = ("localhost", "127.0.0.1")
_NOBODYS = re.compile(r"lo$|docker|br-|veth|virbr")
"""Networks inside this computer, by the names that Linux programs give them (common practice)."""


@dataclass(frozen=True, slots=True)
class Called:
    """The names and addresses that reach this computer, the best first."""

    own: tuple[str, ...]
    host: str
    """The one that phones are told."""
    has_lasting_name: bool
    """Whether that is a name, which stays when the address changes."""

    @property
    def address(self) -> str:
        """What a phone finds without looking a name up, where there is such a thing."""
        return next((one for one in self.own if _is_address(one)), self.host)

    @property
    def for_certificate(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys([*self.own, *ALWAYS]))


def look_around(chosen: Sequence[str], hosts_file: Path) -> Called | None:
    """What it is called at this moment; None without any address on a private network.

    `chosen` and the lines of `hosts_file` are names of the farmer's own choice. They go first.
    """
    with contextlib.suppress(OSError, UnicodeDecodeError):
        chosen = [*chosen, *(line.strip() for line in hosts_file.read_text("utf-8").splitlines())]
    picked = [one for one in dict.fromkeys(chosen) if may_vouch_for(one)]
    addresses, name = lan_addresses(), local_name()
    if not picked and not addresses:
        return None
    found = not picked and name is not None and answers_to(name)
    host = name if found and name else [*picked, *addresses][0]
    own = [*picked, *([name] if name else []), *addresses]
    return Called(tuple(dict.fromkeys(own)), host, has_lasting_name=not _is_address(host))


def local_name() -> str | None:
    """`<hostname>.local`, or None where the host name cannot be part of an address."""
    label = socket.gethostname().split(".")[0].lower()
    name = f"{label}.local"
    return name if may_vouch_for(name) else None


def answers_to(name: str) -> bool:
    """Whether this computer finds itself under the name (then phones will, mostly)."""
    try:
        return bool(socket.getaddrinfo(name, None))
    except (OSError, UnicodeError):
        return False


def lan_addresses() -> list[str]:
    """Private IPv4 addresses of this computer, the one it reaches others by first."""
    found: list[str] = []
    with contextlib.suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.connect(("192.0.2.1", 9))  # documentation address (RFC 5737); nothing is sent
        found.append(probe.getsockname()[0])
    found += _addresses_of_interfaces()
    with contextlib.suppress(OSError, UnicodeError):
        told = socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)
        found += [str(one[4][0]) for one in told]
    return [one for one in dict.fromkeys(found) if _is_on_a_lan(one)]


def _addresses_of_interfaces() -> list[str]:
    """Linux: the first address of each network, also of one that leads nowhere else."""
    if sys.platform != "linux":
        return []
    import fcntl

    found = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        for _, name in socket.if_nameindex():
            if _NOBODYS.match(name):
                continue
            with contextlib.suppress(OSError):  # it has none
                asked = struct.pack("256s", name.encode()[:15])
                told = fcntl.ioctl(probe.fileno(), 0x8915, asked)  # SIOCGIFADDR, netdevice(7)
                found.append(socket.inet_ntoa(told[20:24]))
    return found


def _is_on_a_lan(address: str) -> bool:
    return not ip_address(address).is_loopback and may_vouch_for(address)


def _is_address(host: str) -> bool:
    try:
        return bool(ip_address(host))
    except ValueError:
        return False
