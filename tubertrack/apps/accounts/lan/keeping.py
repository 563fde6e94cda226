"""Where the authority and the server's certificate are kept: the data folder, keys for its owner alone.

The authority is made once, whole or not at all, and never replaced unasked: every phone would have
to install it anew. The server's certificate is made anew as often as it is needed.
"""

from __future__ import annotations

import os
import secrets
import shutil
import stat
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from tubertrack.apps.accounts.lan.authority import (
    Pair,
    is_good_leaf,
    make_authority,
    make_leaf,
)

REPLACE = "python3 manage.py farm_authority --replace"


class Unusable(Exception):
    """What lies in the folder must not be used. The message says why and what to do."""


@dataclass(frozen=True, slots=True)
class Kept:
    """The authority, and the files of the server's own certificate."""

    authority: Pair
    certificate: Path
    key: Path
    is_new_authority: bool = False
    is_new_leaf: bool = False


def kept_certificates(folder: Path, names: Sequence[str], *, now: datetime) -> Kept:
    """Certificates for these names: those kept in the folder while they do, else new ones.

    The server's certificate is made anew when a name is missing in it, it ends within 30 days, or
    it is of another authority. Errors: Unusable, also for an authority that has ended or is torn.
    """
    fresh = not _holds_something(folder)
    if fresh:
        _make_folder(folder, make_authority(_name_for(now), now=now))
    authority = kept_authority(folder, now=now)
    leaf = _read(folder, "server")
    renewed = leaf is None or not is_good_leaf(leaf, authority, names, now=now)
    if renewed:
        _keep(folder, "server", make_leaf(authority, names, now=now))
    certificate, key = _files(folder, "server")
    return Kept(authority, certificate, key, is_new_authority=fresh, is_new_leaf=renewed)


def kept_authority(folder: Path, *, now: datetime) -> Pair:
    """The authority that phones have installed.

    Errors: Unusable when others may read its key, or it is not there, not whole, or has ended.
    """
    _refuse_others(folder)
    found = _read(folder, "authority")
    if found is None:
        raise Unusable(
            f"{folder} holds no whole authority. Put the folder back from a backup; or make a new"
            f" authority, which every phone must then install: {REPLACE}"
        )
    ends = found.loaded().not_valid_after_utc
    if ends < now:
        raise Unusable(
            f"The farm's authority ended on {ends:%Y-%m-%d}. Make a new one, which every phone must"
            f" then install: {REPLACE}"
        )
    return found


def kept_leaf(folder: Path) -> Pair | None:
    """The server's certificate; None when it is not there or torn. Errors: Unusable."""
    return _read(folder, "server")


def replace_authority(folder: Path, *, now: datetime) -> Pair:
    """A new authority in place of the one kept there, whose key is erased."""
    authority = make_authority(_name_for(now), now=now)
    if folder.is_symlink() or folder.is_file():
        folder.unlink()
    elif folder.exists():
        shutil.rmtree(folder)
    _make_folder(folder, authority)
    return authority


def _name_for(now: datetime) -> str:
    """With its day, so that a phone that has an old one as well shows which is which."""
    return f"Winter Tally farm, made {now:%Y-%m-%d}"


def _holds_something(folder: Path) -> bool:
    try:
        return folder.is_symlink() or any(folder.iterdir())
    except FileNotFoundError:
        return False
    except OSError as why:
        raise Unusable(f"{folder} cannot be read: {why.strerror}.") from why


def _make_folder(folder: Path, authority: Pair) -> None:
    """The folder appears with both files in it or not at all; whoever is first wins."""
    folder.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    begun = folder.with_name(f"{folder.name}.{secrets.token_hex(8)}")
    begun.mkdir(mode=0o700)
    try:
        _keep(begun, "authority", authority)
        with suppress(OSError):
            folder.rmdir()  # an empty one, which Windows would not replace
        with suppress(OSError):
            begun.rename(folder)
    finally:
        shutil.rmtree(begun, ignore_errors=True)


def _refuse_others(folder: Path) -> None:
    """Errors: Unusable when somebody else may read a key or put another in its place.

    Windows knows no such modes: there the folder is as private as the one above it.
    """
    if os.name != "posix":
        return
    if folder.is_symlink():
        raise Unusable(f"{folder} is a link to elsewhere. Put the folder itself there.")
    others = stat.S_IMODE(folder.stat().st_mode) & 0o077
    if others & 0o022:
        raise Unusable(_words(folder, "be written to"))
    for file in _files(folder, "authority")[1], _files(folder, "server")[1]:
        if file.is_symlink():
            raise Unusable(f"{file} is a link to elsewhere. Put the file itself there.")
        if file.exists() and stat.S_IMODE(file.stat().st_mode) & 0o077:
            raise Unusable(_words(file, "be read"))
    if others:
        folder.chmod(0o700)  # nothing secret was open


def _words(path: Path, what: str) -> str:
    return (
        f"{path} can {what} by other users of this computer, so they may hold the farm's key. If"
        f" nobody could have: chmod -R go= {path if path.is_dir() else path.parent} and start again."
        f" If somebody could: {REPLACE}. On a disk without owners (some USB sticks) neither helps:"
        " choose a data folder on another disk by TUBERTRACK_DATA."
    )


def _files(folder: Path, name: str) -> tuple[Path, Path]:
    return folder / f"{name}.pem", folder / f"{name}-key.pem"


def _read(folder: Path, name: str) -> Pair | None:
    """Certificate and key, or None when they are not there, torn, or not of each other."""
    certificate, key = _files(folder, name)
    try:
        pair = Pair(certificate.read_bytes(), key.read_bytes())
    except FileNotFoundError:
        return None
    except OSError as why:
        raise Unusable(f"{why.filename} cannot be read: {why.strerror}.") from why
    return pair if pair.belongs_together() else None


def _keep(folder: Path, name: str, pair: Pair) -> None:
    certificate, key = _files(folder, name)
    _write(key, pair.key)
    _write(certificate, pair.certificate)


def _write(path: Path, data: bytes) -> None:
    """Whole or not at all, on the disk, and readable by others at no moment."""
    fresh = path.with_name(f"{path.name}.{secrets.token_hex(8)}")
    # O_EXCL: nothing that lies there already, a link to elsewhere included, is written to.
    descriptor = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        fresh.replace(path)
    finally:
        fresh.unlink(missing_ok=True)
