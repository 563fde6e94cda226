"""What PyPI cannot bring: Pango for PDF; Chromium, PostgreSQL, certutil and nginx for the tests.

Taken from Debian's packages where that is possible without asking; else left out, in words.
"""

import ctypes
import os
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

from tubertrack.config.setup.progress import may_sudo, say

PANGO = ("libpango-1.0-0", "libpangoft2-1.0-0", "libharfbuzz-subset0", "fontconfig-config")
CHROMIUM = ("chromium",)
POSTGRESQL = ("postgresql",)
CERTUTIL = ("libnss3-tools",)
NGINX = ("nginx-light",)
POLICY = Path("/usr/sbin/policy-rc.d")


def has_pango() -> bool:
    """Whether the libraries that lay out PDF pages can be loaded."""
    if sys.platform != "linux":
        return True  # WeasyPrint looks in more places there than this could
    try:
        for name in ("libpango-1.0.so.0", "libpangoft2-1.0.so.0", "libharfbuzz-subset.so.0"):
            ctypes.CDLL(name)
    except OSError:
        return False
    return True


def ensure_pango() -> bool:
    """Whether PDF works; says in one sentence what to do when it does not."""
    if has_pango():
        return True
    if _apt_install("the page layout library for PDF", PANGO) and has_pango():
        return True
    say("  PDF labels and reports will not work until Pango is installed (Debian, Ubuntu:")
    say(f"  apt install {' '.join(PANGO)}). Everything else does.")
    return False


def chromium() -> str | None:
    """Path of a Chromium on this machine, or None."""
    named = os.environ.get("TUBERTRACK_CHROMIUM")
    if named:
        return named
    for name in ("chromium", "chromium-browser", "google-chrome"):
        path = shutil.which(name)
        if path:
            return path
    return None


def ensure_chromium() -> str | None:
    """Path of a Chromium, installed where it may be."""
    if chromium() is None:
        _apt_install("Chromium for the browser tests", CHROMIUM)
    return chromium()


def ensure_certutil() -> bool:
    """Whether a browser of the tests can be made to trust the farm; installed where it may be."""
    if not shutil.which("certutil"):
        _apt_install("certutil for the browser tests", CERTUTIL)
    return shutil.which("certutil") is not None


def nginx() -> str | None:
    """Path of nginx on this machine, or None. Debian keeps it where users do not look."""
    return shutil.which("nginx") or shutil.which("nginx", path="/usr/sbin")


def ensure_nginx() -> str | None:
    """Path of nginx, installed (not started) where it may be."""
    if nginx() is None:
        _apt_install("nginx for the tests", NGINX)
    return nginx()


def postgresql_bin() -> Path | None:
    """Folder of the newest PostgreSQL server's programs on this machine, or None."""
    for found in sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=_version)[::-1]:
        return found.parent
    on_path = shutil.which("initdb")
    return Path(on_path).resolve().parent if on_path else None


def _version(initdb: Path) -> int:
    part = initdb.parent.parent.name
    return int(part) if part.isdigit() else 0


def ensure_postgresql() -> Path | None:
    """Folder of a PostgreSQL server's programs, installed (not started) where it may be."""
    if postgresql_bin() is None:
        _apt_install("PostgreSQL for the tests", POSTGRESQL)
    return postgresql_bin()


def _apt_install(what: str, packages: Sequence[str]) -> bool:
    if not shutil.which("apt-get") or not may_sudo():
        return False
    say(f"  Installing {what} from Debian's packages ...")
    with _NoServices():
        if _apt("install", "-y", "--no-install-recommends", *packages):
            return True
        return _apt("update") and _apt("install", "-y", "--no-install-recommends", *packages)


def _apt(*arguments: str) -> bool:
    sudo = [] if os.geteuid() == 0 else ["sudo", "-n"]
    done = subprocess.run(
        [*sudo, "env", "DEBIAN_FRONTEND=noninteractive", "apt-get", "-qq", *arguments],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        stdin=subprocess.DEVNULL,
        check=False,
    )
    return done.returncode == 0


class _NoServices:
    """While this is open, installing a package starts no service of its own on this machine."""

    def __enter__(self) -> None:
        self.ours = os.geteuid() == 0 and not POLICY.exists()
        if self.ours:
            POLICY.write_text("#!/bin/sh\nexit 101\n", "ascii")
            POLICY.chmod(0o755)

    def __exit__(self, *_: object) -> None:
        if self.ours:
            POLICY.unlink(missing_ok=True)
