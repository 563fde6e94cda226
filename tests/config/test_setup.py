"""Set-up says in a sentence what went wrong and goes on without what it can do without."""

import json
import socket
import subprocess
import sys
from pathlib import Path

import pytest
from django.db import connection

from tubertrack.config.secret_key import kept_secret_key
from tubertrack.config.setup import environment, frontend, system_packages
from tubertrack.config.setup.progress import ROOT, Stop, run_quietly
from tubertrack.config.start import free_port

SAYS_AND_FAILS = "import sys; print({words!r}); sys.exit(1)"


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ("getaddrinfo ENOTFOUND registry", "could not be reached"),
        ("Temporary failure in name resolution", "could not be reached"),
        ("OSError: [Errno 28] No space left on device", "The disk is full"),
        ("THESE PACKAGES DO NOT MATCH THE HASHES", "not the one that was locked"),
        ("some other trouble", "some other trouble"),
    ],
)
def test_a_failed_step_names_its_likely_cause(words: str, sentence: str, tmp_path: Path) -> None:
    failing = [sys.executable, "-c", SAYS_AND_FAILS.format(words=words)]

    with pytest.raises(Stop, match="this did not work") as stopped:
        run_quietly("Installing", failing, log=tmp_path / "log")

    assert sentence in str(stopped.value)
    assert str(tmp_path / "log") in str(stopped.value)


def test_set_up_needs_nothing_but_python() -> None:
    code = (
        "import sys; import tubertrack.config.setup.commands; "
        "loaded = {m.split('.')[0] for m in sys.modules}; "
        "print(sorted(m for m in loaded - set(sys.stdlib_module_names) if not m.startswith('_')))"
    )
    ran = subprocess.run(
        [sys.executable, "-S", "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )

    assert "['tubertrack']" == ran.stdout.strip()


def test_an_environment_that_somebody_else_made_is_left_alone(monkeypatch) -> None:
    monkeypatch.setenv("TUBERTRACK_NO_BOOTSTRAP", "1")
    monkeypatch.setattr(environment, "VENV", Path("never-made"))

    environment.ensure("runtime")

    assert not Path("never-made").exists()


def test_a_changed_lock_is_installed_again_and_an_unchanged_one_is_not(
    monkeypatch, tmp_path
) -> None:
    lock = tmp_path / "requirements.lock"
    lock.write_text("", "utf-8")
    monkeypatch.setattr(environment, "LOCKS", {"runtime": lock, "test": lock})
    monkeypatch.setattr(environment, "STAMP", tmp_path / "installed.json")
    monkeypatch.setattr(environment, "LOG", tmp_path / "log")

    environment._install("runtime")
    first = json.loads((tmp_path / "installed.json").read_text("utf-8"))
    (tmp_path / "log").unlink()
    environment._install("runtime")
    unchanged_ran_pip = (tmp_path / "log").exists()
    lock.write_text("# another\n", "utf-8")
    environment._install("runtime")

    assert not unchanged_ran_pip
    assert first != json.loads((tmp_path / "installed.json").read_text("utf-8"))


def test_a_busy_port_makes_way_for_the_next_and_says_so(capsys) -> None:
    with socket.socket() as busy:
        busy.bind(("127.0.0.1", 0))
        busy.listen()
        port = busy.getsockname()[1]

        found = free_port(port)

    assert port < found
    assert f"Port {port} is in use; taking {found}." in capsys.readouterr().out


def test_without_pango_start_goes_on_and_says_what_to_install(monkeypatch, capsys) -> None:
    monkeypatch.setattr(system_packages, "has_pango", lambda: False)
    monkeypatch.setattr(system_packages.shutil, "which", lambda _name: None)

    assert not system_packages.ensure_pango()
    assert "apt install libpango-1.0-0" in capsys.readouterr().out


def test_the_frontends_hash_covers_the_record_kinds() -> None:
    sources = {path.relative_to(ROOT).as_posix() for path in frontend._sources()}

    assert "tubertrack/core/stock/kinds/packed.v1.json" in sources
    assert "frontend/src/worker/service-worker.ts" in sources
    assert not any("node_modules" in path for path in sources)


def test_the_secret_key_is_made_once_and_only_its_owner_reads_it(tmp_path: Path) -> None:
    first = kept_secret_key(tmp_path / "new")

    assert first == kept_secret_key(tmp_path / "new")
    assert len(first) > 40
    assert 0o600 == (tmp_path / "new" / "secret-key").stat().st_mode & 0o777
    assert ["secret-key"] == [path.name for path in (tmp_path / "new").iterdir()]


def test_the_tests_never_touch_the_farms_own_folder_and_use_a_real_file(settings) -> None:
    assert "tubertrack.config.settings_test" == settings.SETTINGS_MODULE
    assert ROOT not in Path(settings.DATA_DIR).parents
    if settings.DATABASES["default"]["ENGINE"].endswith("sqlite3"):
        assert not connection.is_in_memory_db()
