"""The key that signs sessions: made once, kept in the data folder, readable by its owner alone."""

import os
import secrets
from pathlib import Path


def kept_secret_key(data_dir: Path) -> str:
    """The same key on every call for one data folder; made (mode 0600) on the first."""
    path = data_dir / "secret-key"
    try:
        return path.read_text("ascii").strip()
    except FileNotFoundError:
        pass
    data_dir.mkdir(parents=True, exist_ok=True)
    fresh = data_dir / f"secret-key.{os.getpid()}"
    with os.fdopen(os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w") as file:
        file.write(secrets.token_urlsafe(48))
    # Whoever comes first wins, whole: two processes that start together agree on one key.
    try:
        if path.exists():
            fresh.unlink()
        else:
            fresh.replace(path)
    except FileNotFoundError:
        pass
    return path.read_text("ascii").strip()
