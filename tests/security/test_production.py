"""The settings of each way in, and Django's own list of what production asks for.

Every case is a process of its own with a real environment, as on a farm.
"""

from __future__ import annotations

import json
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.exceptions import ImproperlyConfigured

from tubertrack.config.secret_key import kept_secret_key
from tubertrack.config.visitors import way_in

ROOT = Path(__file__).resolve().parents[2]
NAMES = [
    "ALLOWED_HOSTS",
    "CSRF_COOKIE_SAMESITE",
    "CSRF_COOKIE_SECURE",
    "CSRF_TRUSTED_ORIGINS",
    "DEBUG",
    "SECURE_HSTS_SECONDS",
    "SECURE_SSL_REDIRECT",
    "SESSION_COOKIE_HTTPONLY",
    "SESSION_COOKIE_SAMESITE",
    "SESSION_COOKIE_SECURE",
]
TOLD = (
    "import json; from django.conf import settings as s; "
    f"told = {{n: getattr(s, n) for n in {NAMES}}}; "
    "told['PROXY'] = getattr(s, 'SECURE_PROXY_SSL_HEADER', None); "
    "told['PROXIES'] = s.REST_FRAMEWORK['NUM_PROXIES']; print(json.dumps(told))"
)


def environment(folder: Path, **told: str) -> dict[str, str]:
    ours = {name: value for name, value in os.environ.items() if not name.startswith("TUBERTRACK")}
    ours.pop("DATABASE_URL", None)
    for name in ("DJANGO_SETTINGS_MODULE", "DJANGO_ALLOW_ASYNC_UNSAFE"):
        ours.pop(name, None)
    return {**ours, "TUBERTRACK_DATA": str(folder), "TUBERTRACK_NO_BOOTSTRAP": "1", **told}


def manage(folder: Path, *words: str, **told: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "manage.py", *words],
        cwd=ROOT,
        env=environment(folder, **told),
        capture_output=True,
        text=True,
        check=False,
    )


def settings_of(folder: Path, **told: str) -> dict:
    env = {**environment(folder, **told), "DJANGO_SETTINGS_MODULE": "tubertrack.config.settings"}
    ran = subprocess.run(
        [sys.executable, "-c", TOLD], cwd=ROOT, env=env, capture_output=True, text=True, check=True
    )
    return json.loads(ran.stdout)


@pytest.mark.parametrize("way", ["1", "lan"])
def test_djangos_list_for_production_finds_nothing(tmp_path, way):
    told = {"TUBERTRACK_HTTPS": way, "TUBERTRACK_HOSTS": "farm.example"}
    ran = manage(tmp_path, "check", "--deploy", "--fail-level", "WARNING", **told)
    assert 0 == ran.returncode, ran.stderr
    assert "no issues" in ran.stdout


def test_the_list_can_find_something(tmp_path):
    ran = manage(tmp_path, "check", "--deploy", "--fail-level", "WARNING")
    assert 0 != ran.returncode
    assert {"W004", "W008", "W012", "W016"} == {
        line.split("security.")[1][:4] for line in ran.stderr.splitlines() if "security." in line
    }


def test_behind_a_proxy_with_a_public_name(tmp_path):
    told = settings_of(tmp_path, TUBERTRACK_HTTPS="1", TUBERTRACK_HOSTS="farm.example")
    assert told == {
        "ALLOWED_HOSTS": ["localhost", "127.0.0.1", "[::1]", "farm.example"],
        "CSRF_COOKIE_SAMESITE": "Lax",
        "CSRF_COOKIE_SECURE": True,
        "CSRF_TRUSTED_ORIGINS": ["https://farm.example"],
        "DEBUG": False,
        "PROXIES": 1,
        "PROXY": ["HTTP_X_FORWARDED_PROTO", "https"],
        "SECURE_HSTS_SECONDS": 31_536_000,
        "SECURE_SSL_REDIRECT": True,
        "SESSION_COOKIE_HTTPONLY": True,
        "SESSION_COOKIE_SAMESITE": "Lax",
        "SESSION_COOKIE_SECURE": True,
    }


@pytest.mark.parametrize(("way", "secure"), [("", False), ("lan", True)])
def test_without_a_proxy_nobodys_word_on_the_way_is_taken(tmp_path, way, secure):
    told = settings_of(tmp_path, TUBERTRACK_HTTPS=way)
    assert (None, 0) == (told["PROXY"], told["PROXIES"])
    assert (False, 0) == (told["SECURE_SSL_REDIRECT"], told["SECURE_HSTS_SECONDS"])
    assert (secure, secure) == (told["SESSION_COOKIE_SECURE"], told["CSRF_COOKIE_SECURE"])
    assert (False, True) == (told["DEBUG"], told["SESSION_COOKIE_HTTPONLY"])


def test_a_slip_in_the_way_is_not_taken_for_plain_http(tmp_path):
    with pytest.raises(ImproperlyConfigured, match=r"TUBERTRACK_HTTPS is “true”\. Write 1"):
        way_in("true")
    ran = manage(tmp_path, "check", TUBERTRACK_HTTPS="yes")
    assert 0 != ran.returncode
    assert "Write 1" in ran.stderr


# ---- the key

KEY = (
    "import sys; from pathlib import Path; from tubertrack.config.secret_key import kept_secret_key;"
    "sys.stdin.read(); print(kept_secret_key(Path(sys.argv[1])))"
)


def test_programs_that_start_together_agree_on_one_key(tmp_path):
    started = [
        subprocess.Popen(
            [sys.executable, "-c", KEY, str(tmp_path / "data")],
            cwd=ROOT,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        for _ in range(6)
    ]
    for one in started:  # each waits for the end of its input
        one.stdin.close()
    said = [one.stdout.read().strip() for one in started]
    assert [0] * 6 == [one.wait() for one in started]
    assert 1 == len(set(said))
    assert ["secret-key"] == [file.name for file in (tmp_path / "data").iterdir()]


@pytest.mark.skipif(os.name != "posix", reason="modes of files")
def test_only_the_owner_reads_the_folder_and_the_key(tmp_path):
    first = kept_secret_key(tmp_path / "data")
    key = tmp_path / "data" / "secret-key"
    assert 0o700 == stat.S_IMODE(key.parent.stat().st_mode)
    assert 0o600 == stat.S_IMODE(key.stat().st_mode)
    key.chmod(0o644)  # a copy of the folder, say
    assert first == kept_secret_key(tmp_path / "data")
    assert 0o600 == stat.S_IMODE(key.stat().st_mode)
    assert len(first) >= 64


def test_a_torn_key_is_named_and_not_used(tmp_path):
    (tmp_path / "secret-key").write_text("")
    with pytest.raises(ImproperlyConfigured, match="holds no whole key"):
        kept_secret_key(tmp_path)


@pytest.mark.skipif(os.name != "posix", reason="links")
def test_a_link_that_somebody_laid_there_is_not_written_through(tmp_path):
    (tmp_path / "secret-key").symlink_to(tmp_path / "elsewhere")
    with pytest.raises((ImproperlyConfigured, FileNotFoundError)):
        kept_secret_key(tmp_path)
    assert not (tmp_path / "elsewhere").exists()
