"""The audit tells what registries know, and tells silence from good news."""

from __future__ import annotations

import json

import pytest

from tubertrack.config import audit
from tubertrack.config.audit import Advisory, NoAnswer, read_npm_audit, read_pip_audit, table

# The shapes are of pip-audit's README (“Example: --format json”) and of npm's audit report version 2,
# with names of our own.
PIP = {
    "dependencies": [
        {"name": "leek", "version": "1.0", "vulns": [{"id": "PYSEC-1", "fix_versions": ["1.1"]}]},
        {"name": "soup", "version": "2.0", "vulns": []},
        {"name": "bread", "skip_reason": "not found"},
    ],
    "fixes": [],
}
NPM = {
    "auditReportVersion": 2,
    "vulnerabilities": {
        "tray": {
            "via": [{"source": 7, "url": "https://advisories.example/GHSA-abcd"}],
            "nodes": ["node_modules/tray"],
            "fixAvailable": {"name": "tray", "version": "3.0.1"},
        },
        "crate": {"via": ["tray"], "nodes": ["node_modules/crate"], "fixAvailable": True},
    },
}
PACKAGES = {"node_modules/tray": {"version": "3.0.0", "dev": True}, "node_modules/crate": {}}


def test_what_pip_audit_says_is_read():
    found = read_pip_audit(json.dumps(PIP), needed_to_run=frozenset({"leek"}))
    assert [Advisory("leek", "1.0", "PYSEC-1", "1.1", "run")] == found


def test_packages_that_nobody_knows_are_no_good_news():
    unknown = {"dependencies": [{"name": "leek", "skip_reason": "not found"}]}
    with pytest.raises(NoAnswer, match="none of 1 packages"):
        read_pip_audit(json.dumps(unknown), needed_to_run=frozenset())


@pytest.mark.parametrize("text", ["", "error", "[]", '{"error": {}}', "null"])
def test_what_is_no_report_is_no_answer(text):
    with pytest.raises(NoAnswer):
        read_pip_audit(text, needed_to_run=frozenset())
    with pytest.raises(NoAnswer):
        read_npm_audit(text, {})


def test_what_npm_says_is_read():
    assert [Advisory("tray", "3.0.0", "GHSA-abcd", "3.0.1", "test")] == read_npm_audit(
        json.dumps(NPM), PACKAGES
    )
    assert [] == read_npm_audit('{"vulnerabilities": {}}', {})


def test_the_table_has_one_line_each():
    lines = table([Advisory("leek", "1.0", "PYSEC-1", "", "run")])
    assert [
        "  package  version  advisory  fixed in  needed to",
        "  leek     1.0      PYSEC-1   -         run",
    ] == lines
    assert [] == table([])


def test_a_registry_that_does_not_answer_stops_nothing(monkeypatch, capsys):
    def silent() -> list[Advisory]:
        raise NoAnswer("nobody there\nmore")

    monkeypatch.setattr(audit, "_python", silent)
    monkeypatch.setattr(audit, "_npm", lambda: [Advisory("leek", "1", "X-1", "2", "build")])
    assert 0 == audit.audit()
    said = capsys.readouterr().out
    assert "no answer (nobody there)" in said
    assert "1 known advisories" in said
