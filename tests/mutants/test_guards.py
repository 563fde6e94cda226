"""The list of guards is true of the source as it stands; a few of them are taken out each time."""

from tests.mutants.guard import ROOT
from tests.mutants.running import all_guards, main

GUARDS = all_guards()
# A quick one of each side, so that a runner that no longer notices anything is noticed itself.
SAMPLE = (
    "no stamp lies after its receipt",
    "each link is worked out anew",
    "of two entries with one id the first counts (server)",
    "of two entries with one id the first counts (phone)",
)


def test_each_guard_stands_where_the_list_says():
    found = {guard.name: (guard.file, guard.times_found()) for _, guard in GUARDS}
    wrong = {name: told for name, told in found.items() if set(told[1]) != {1}}
    assert wrong == {}, "the source was changed: bring the list in tests/mutants after it"


def test_the_tests_that_must_notice_are_there():
    files = {test.partition("::")[0] for _, guard in GUARDS for test in guard.caught_by}
    assert [] == sorted(file for file in files if not (ROOT / file).is_file())


def test_every_change_changes_something_and_has_a_name_of_its_own():
    assert all(guard.text != guard.instead for _, guard in GUARDS)
    names = [guard.name for _, guard in GUARDS]
    for side in ("server", "phone"):
        own = [guard.name for of, guard in GUARDS if of == side]
        assert len(own) == len(set(own))
    assert len(names) >= 100


def test_guards_taken_out_are_noticed(capfd):
    named = [part for name in SAMPLE for part in ("--named", name)]
    assert 0 == main([*named, "--jobs", "1"])
    assert f"{len(SAMPLE)} of {len(SAMPLE)} noticed" in capfd.readouterr().out


def test_a_change_that_breaks_nothing_is_told_to_survive(monkeypatch, capfd):
    from tests.mutants import running
    from tests.mutants.guard import Guard

    harmless = Guard(
        "a comment",
        "tubertrack/core/sync/stamps.py",
        "the bound is ours",
        "the bound is ours alone",
        ("tests/core/sync/test_verdicts.py",),
    )
    monkeypatch.setattr(running, "SIDES", {"server": (harmless,)})
    assert 1 == main(["--jobs", "1"])
    assert "survived: a comment" in capfd.readouterr().out
