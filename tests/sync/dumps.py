"""A whole database put away and brought back, as each database's own tools do it."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
from pathlib import Path

from django.db import connection

from tubertrack.apps.records import warm
from tubertrack.config.setup import system_packages


def dump(path: Path) -> None:
    """Puts the database into a file while it is in use."""
    if connection.vendor == "sqlite":
        connection.ensure_connection()
        with sqlite3.connect(path) as copy:
            connection.connection.backup(copy)
        copy.close()
    else:
        _postgresql("pg_dump", "--format=custom", f"--file={path}", _name())
    assert path.stat().st_size > 0


def restore(path: Path) -> None:
    """The database as it was when it was dumped; what came since is gone. The server starts anew."""
    if connection.vendor == "sqlite":
        connection.ensure_connection()
        with sqlite3.connect(path) as copy:
            copy.backup(connection.connection)
        copy.close()
    else:
        connection.close()
        _postgresql(
            *("pg_restore", "--clean", "--if-exists", "--single-transaction", "--exit-on-error"),
            *(f"--dbname={_name()}", str(path)),
        )
    warm.forget_all()


def _name() -> str:
    return str(connection.settings_dict["NAME"])


def _postgresql(program: str, *arguments: str) -> None:
    told = connection.settings_dict
    programs = system_packages.postgresql_bin()
    found = str(programs / program) if programs else shutil.which(program)
    assert found, f"{program} is part of the server's own package and was not found"
    env = {
        **os.environ,
        "PGHOST": str(told["HOST"]),
        "PGPORT": str(told["PORT"]),
        "PGUSER": str(told["USER"]),
        "PGPASSWORD": str(told["PASSWORD"]),
    }
    subprocess.run([found, *arguments], env=env, check=True, capture_output=True)
