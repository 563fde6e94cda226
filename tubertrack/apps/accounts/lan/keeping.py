"""Where the authority and the server's certificate are kept: the data folder, keys for its owner alone."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from tubertrack.apps.accounts.lan.authority import (
    Pair,
    is_good_leaf,
    make_authority,
    make_leaf,
)

AUTHORITY_NAME = "Winter Tally, this farm only"


@dataclass(frozen=True, slots=True)
class Kept:
    """The authority, and the files of the server's own certificate."""

    authority: Pair
    certificate: Path
    key: Path
    is_new_authority: bool


def kept_certificates(folder: Path, names: Sequence[str], *, now: datetime) -> Kept:
    """Certificates for these names: those kept in the folder while they do, else new ones.

    The authority is made once; phones trust it for ten years. The server's certificate is made
    anew when a name is missing in it or it ends within 30 days.
    """
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    authority = _kept_pair(folder, "authority")
    fresh = authority is None or authority.loaded().not_valid_after_utc < now
    if authority is None or fresh:
        authority = make_authority(AUTHORITY_NAME, now=now)
        _keep(folder, "authority", authority)
    leaf = _kept_pair(folder, "server")
    if leaf is None or not is_good_leaf(leaf, authority, names, now=now):
        _keep(folder, "server", make_leaf(authority, names, now=now))
    return Kept(authority, folder / "server.pem", folder / "server-key.pem", fresh)


def _kept_pair(folder: Path, name: str) -> Pair | None:
    try:
        pair = Pair(
            (folder / f"{name}.pem").read_bytes(), (folder / f"{name}-key.pem").read_bytes()
        )
        pair.loaded()
    except (OSError, ValueError):
        return None
    return pair


def _keep(folder: Path, name: str, pair: Pair) -> None:
    _write(folder / f"{name}-key.pem", pair.key, mode=0o600)
    _write(folder / f"{name}.pem", pair.certificate, mode=0o644)


def _write(path: Path, data: bytes, *, mode: int) -> None:
    """Whole or not at all, and never readable by others for a moment."""
    fresh = path.with_suffix(f".{os.getpid()}")
    descriptor = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, mode)
    with os.fdopen(descriptor, "wb") as file:
        file.write(data)
    fresh.replace(path)
