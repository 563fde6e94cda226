"""No key, token or password lies in a file that is kept in version control.

The patterns are of the forms that their issuers document (PEM: RFC 7468; JSON web tokens: RFC 7519),
and of what this program itself makes; a second test shows that each would be found.
"""

from __future__ import annotations

import math
import re
import shutil
import subprocess
from collections import Counter
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PATTERNS = {
    "private key": re.compile(rb"-----BEGIN (?:[A-Z]+ )?PRIVATE KEY-----"),
    "web token": re.compile(rb"\beyJ[\w-]{10,}\.eyJ[\w-]{10,}\.[\w-]{10,}"),
    "cloud key": re.compile(rb"\b(?:AKIA|ASIA)[0-9A-Z]{16}\b"),
    "access token": re.compile(rb"\b(?:gh[pousr]_\w{30,}|github_pat_\w{30,}|glpat-[\w-]{20,})"),
    "package token": re.compile(rb"\b(?:pypi-[\w-]{40,}|npm_\w{36})"),
    "user and password in an address": re.compile(rb"\b[a-z]+://[^/\s:@\"'{}<]+:[^/\s:@\"'{}<]+@"),
    "told secret": re.compile(
        rb"(?i)\b(?:secret_key|password|passwd|api_?key|auth_?token)\b[\"']?\s*[:=]\s*[\"'][^\"'{]{12,}[\"']"
    ),
    "long random text": re.compile(rb"(?<![\w/+-])[\w-]{43}(?![\w/+=-])"),
}
LOCKS = {"requirements.lock", "requirements-test.lock", "frontend/package-lock.json"}
"""Hold hashes and nothing else that is random."""
KNOWN = {
    # the tests' own words, which sign nothing that lasts
    ("tubertrack/config/settings_test.py", "told secret"),
    # user:password@host:port, word for word
    ("tubertrack/config/settings.py", "user and password in an address"),
}


def tracked() -> list[str]:
    if shutil.which("git") is None or not (ROOT / ".git").exists():
        pytest.skip("no version control here (a copy without its history)")
    listed = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    return [name for name in listed.stdout.split("\0") if name and (ROOT / name).is_file()]


def bits_each(text: bytes) -> float:
    """Shannon's entropy of a text, in bits a character: names stay below 4.3, random text above."""
    counts = Counter(text)
    return -sum(n / len(text) * math.log2(n / len(text)) for n in counts.values())


def found_in(name: str, content: bytes) -> list[tuple[str, str]]:
    found = []
    for sort, pattern in PATTERNS.items():
        for match in pattern.finditer(content):
            if sort == "long random text" and not looks_random(match[0]):
                continue
            if sort == "told secret" and (is_test(name) or is_sentence(match[0])):
                continue  # people of the tests have passwords; a form says what is wrong with one
            found.append((name, sort))
    return found


def is_sentence(text: bytes) -> bool:
    return re.search(rb"[\"'][A-Z][a-z]*( [A-Za-z']+[,.]?){2,}[\"']$", text) is not None


def is_test(name: str) -> bool:
    return name.startswith("tests/") or ".test." in name


def looks_random(text: bytes) -> bool:
    mixed = re.search(rb"[a-z]", text) and re.search(rb"[A-Z]", text) and re.search(rb"\d", text)
    return bool(mixed) and bits_each(text) > 4.3


def test_no_file_holds_a_secret():
    files = [name for name in tracked() if name not in LOCKS]
    assert len(files) > 300
    found = {one for name in files for one in found_in(name, (ROOT / name).read_bytes())}
    assert set() == found - KNOWN


def test_no_data_folder_key_or_database_is_kept():
    kept = [
        name
        for name in tracked()
        if re.search(r"(^|/)(\.data/|\.env|secret-key|.*\.(pem|key|p12|pfx|sqlite3|db|har)$)", name)
    ]
    assert [] == kept


MADE_UP = {
    "private key": b"-----BEGIN EC " + b"PRIVATE KEY-----",
    "web token": b"eyJ" + b"a" * 12 + b".eyJ" + b"b" * 12 + b"." + b"c" * 12,
    "cloud key": b"AKIA" + b"ABCDEFGHIJKLMNOP",
    "access token": b"ghp_" + b"a1" * 18,
    "package token": b"npm_" + b"a1" * 18,
    "user and password in an address": b"postgres://" + b"ana:leek@host/farm",
    "told secret": b'PASSWORD = "' + b'leek soup and bread"',
}


@pytest.mark.parametrize("sort", PATTERNS)
def test_each_would_be_found(sort):
    from tubertrack.apps.accounts.secrets import new_token

    text = new_token().encode() if sort == "long random text" else MADE_UP[sort]
    assert ("x", sort) in found_in("x", b"x = '" + text + b"'" if sort != "told secret" else text)
