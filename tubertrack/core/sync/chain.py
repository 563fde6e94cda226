"""One value that stands for a whole history: equal chains at one number, equal feeds up to it."""

from __future__ import annotations

import hashlib
import struct
from dataclasses import dataclass

from tubertrack.core.sync.stamps import Stamp

START = bytes(16)
"""The chain before the first record."""


@dataclass(frozen=True, slots=True)
class Link:
    """What the server says of one record: all that the fold reads and the record does not hold."""

    sha256: str
    seq: int
    received_at: int
    received_on: str
    recorded_on: str
    stamp: Stamp | None
    held: str
    role: str


def next_chain(before: bytes, link: Link) -> bytes:
    """The 16 bytes of the chain at `link`, given the 16 bytes before it.

    Input of SHA-256, in this order: chain before (16 bytes), sha256 of the record (32), seq (u64),
    received_at in ms UTC (u64), received_on and recorded_on (10 ASCII each), stamp flag (u8),
    stamp ms (u64) and counter (u32), held code and role (u8 length, then ASCII). Big endian.
    """
    ms, counter = link.stamp or (0, 0)
    told = b"".join(
        (
            before,
            bytes.fromhex(link.sha256),
            struct.pack(">QQ", link.seq, link.received_at),
            link.received_on.encode("ascii"),
            link.recorded_on.encode("ascii"),
            struct.pack(">BQI", int(link.stamp is not None), ms, counter),
            _short(link.held),
            _short(link.role),
        )
    )
    return hashlib.sha256(told).digest()[:16]


def _short(word: str) -> bytes:
    ascii_word = word.encode("ascii")
    return bytes([len(ascii_word)]) + ascii_word
