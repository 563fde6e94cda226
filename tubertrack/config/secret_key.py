"""The key that signs sessions: made once, kept in the data folder, readable by its owner alone."""

import os
import secrets
import stat
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured

LEAST_LETTERS = 50
"""As Django's own check asks (security.W009)."""


def kept_secret_key(data_dir: Path) -> str:
    """The same key on every call for one data folder; made (mode 0600) on the first.

    Errors: ImproperlyConfigured when the kept file holds no whole key.
    """
    path = data_dir / "secret-key"
    if not path.exists():
        data_dir.mkdir(mode=0o700, parents=True, exist_ok=True)
        _make(path)
    if os.name == "posix" and stat.S_IMODE(path.stat().st_mode) & 0o077:
        path.chmod(0o600)  # a copy of the folder may have opened it to others
    key = path.read_text("ascii").strip()
    if len(key) < LEAST_LETTERS:
        raise ImproperlyConfigured(
            f"{path} holds no whole key. Put it back from a backup, or delete it: then everybody who"
            " signed in by a link or password signs in once more; phones stay signed in."
        )
    return key


def _make(path: Path) -> None:
    """Writes a key under a name of its own and links it: whoever is first wins, whole."""
    fresh = path.with_name(f"{path.name}.{secrets.token_hex(8)}")
    # O_EXCL: nothing that lies there already, a link to elsewhere included, is written to.
    descriptor = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with os.fdopen(descriptor, "w") as file:
            file.write(secrets.token_urlsafe(48))
            file.flush()
            os.fsync(file.fileno())
        _link(fresh, path)
    finally:
        fresh.unlink()


def _link(fresh: Path, path: Path) -> None:
    try:
        os.link(fresh, path)
    except FileExistsError:
        return
    except OSError:  # a disk without links (FAT): the second best
        descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(descriptor, "w") as file:
            file.write(fresh.read_text("ascii"))
