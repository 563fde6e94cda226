"""Settings of the tests: a data folder and a database of their own, thrown away afterwards."""

import os
import tempfile
from pathlib import Path

_SCRATCH = Path(tempfile.gettempdir()) / f"tubertrack-test-{os.getpid()}"
os.environ["TUBERTRACK_DATA"] = str(_SCRATCH)
os.environ["TUBERTRACK_SECRET_KEY"] = "signs nothing that lasts"  # noqa: S105

from tubertrack.config.settings import *  # noqa: E402, F403
from tubertrack.config.settings import DATABASES  # noqa: E402

if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # A file, not memory: threads then have connections of their own, as in the real server.
    DATABASES["default"]["TEST"] = {"NAME": _SCRATCH.with_suffix(".sqlite3")}
    # The tests read the file through the same program that wrote it; no power cut is meant.
    DATABASES["default"]["OPTIONS"]["init_command"] = DATABASES["default"]["OPTIONS"][
        "init_command"
    ].replace("synchronous=FULL", "synchronous=OFF")

ALLOWED_HOSTS = ["*"]
