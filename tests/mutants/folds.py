"""What both folds may not do without: who may mend what, double ids, order, unknown fields."""

from __future__ import annotations

from tests.mutants.guard import Guard

PY = "tubertrack/core/stock"
TS = "frontend/src/core/stock"
STORIES_PY = ("tests/scenarios/test_scenarios.py",)
STORIES_TS = ("frontend/src/core/stock/scenarios.test.ts",)


def _both(
    name: str,
    file: str,
    here: tuple[str, str],
    there: tuple[str, str],
    *,
    more: tuple[tuple[str, str], tuple[str, str]] | None = None,
) -> tuple[Guard, Guard]:
    """The same guard in Python (`here`) and in TypeScript (`there`), held by the same stories."""
    here_too, there_too = ((more[0],), (more[1],)) if more else ((), ())
    return (
        Guard(f"{name} (server)", f"{PY}/{file}.py", *here, STORIES_PY, here_too),
        Guard(f"{name} (phone)", f"{TS}/{file}.ts", *there, STORIES_TS, there_too),
    )


GUARDS: tuple[Guard, ...] = (
    *_both(
        "a helper mends her own entries alone",
        "living",
        (
            "return mend.author == target.author or bool(self.accepted(NOT_ALLOWED + mend.sha256))",
            "return True",
        ),
        (
            (
                "return mend.author === target.author ||"
                ' this.accepted(NOT_ALLOWED + mend.sha256) !== "";'
            ),
            "return true;",
        ),
    ),
    *_both(
        "a helper's mending of another's counts once a grower accepts it",
        "living",
        (
            "return mend.author == target.author or bool(self.accepted(NOT_ALLOWED + mend.sha256))",
            "return mend.author == target.author",
        ),
        (
            (
                "return mend.author === target.author ||"
                ' this.accepted(NOT_ALLOWED + mend.sha256) !== "";'
            ),
            "return mend.author === target.author;",
        ),
    ),
    *_both(
        "a helper mends her own entries without asking",
        "living",
        (
            "return mend.author == target.author or bool(self.accepted(NOT_ALLOWED + mend.sha256))",
            "return bool(self.accepted(NOT_ALLOWED + mend.sha256))",
        ),
        (
            (
                "return mend.author === target.author ||"
                ' this.accepted(NOT_ALLOWED + mend.sha256) !== "";'
            ),
            'return this.accepted(NOT_ALLOWED + mend.sha256) !== "";',
        ),
    ),
    *_both(
        "a grower mends anybody's entries",
        "living",
        (
            'order.index(mend.role) >= order.index("grower")',
            'order.index(mend.role) >= order.index("server")',
        ),
        (
            'if (isAtLeast(mend.role, "grower")) return true;',
            'if (isAtLeast(mend.role, "server")) return true;',
        ),
    ),
    *_both(
        "a correction needs the same right as a void",
        "living",
        (
            '            and self._is_allowed(mend, self.entries[mend.body["target"]])\n',
            "",
        ),
        ("!this.applies(mend, above) ||", "!this.isAlive(mend.sha256) ||"),
    ),
    *_both(
        "what a helper may not is shown",
        "living",
        (
            'if entry.kind in ("record_voided", "record_corrected") and not self._is_allowed(',
            'if entry.kind in ("record_corrected",) and not self._is_allowed(',
        ),
        (
            'entry.kind === "record_voided" || entry.kind === "record_corrected"',
            'entry.kind === "record_corrected"',
        ),
    ),
    *_both(
        "an acceptance that is voided accepts nothing",
        "living",
        (
            "if self.is_alive(sha)]\n        return min(living,",
            "if sha]\n        return min(living,",
        ),
        (
            "this.earliest([...accepts].filter((sha) => this.isAlive(sha)))",
            "this.earliest([...accepts])",
        ),
    ),
    *_both(
        "of two entries with one id the first counts",
        "living",
        (
            "if entry is None or self._first_of_id(entry) != sha:",
            "if entry is None:",
        ),
        (
            "if (entry === undefined || this.firstOfId(entry) !== sha) return false;",
            "if (entry === undefined) return false;",
        ),
    ),
    *_both(
        "a double id is shown",
        "living",
        ("        if first != sha:\n", "        if not first:\n"),
        ("    if (first !== sha) {\n", '    if (first === "") {\n'),
    ),
    *_both(
        "what was set aside mends nothing",
        "living",
        (
            "        if entry.held and self._decision(entry) is None:\n            return False\n",
            "",
        ),
        (
            '    if (entry.held !== "" && this.decision(entry) === null) return false;\n',
            "",
        ),
        more=(
            (
                "if entry.kind in MENDING and not entry.held:\n            if target",
                "if entry.kind in MENDING:\n            if target",
            ),
            (
                'return entry.held === "" && MENDING.has(entry.kind);',
                "return MENDING.has(entry.kind);",
            ),
        ),
    ),
    *_both(
        "what was set aside counts as its decision says",
        "living",
        (
            "self._decision(entry) if entry.held else (entry.kind, entry.v, entry.body)",
            "(entry.kind, entry.v, entry.body)",
        ),
        ('entry.held === "" ? entry : this.decision(entry)', "entry"),
    ),
    *_both(
        "to leave something aside is no acceptance",
        "living",
        (
            (
                '        if last.kind == "held_resolved" and last.body["decision"] != "accept":\n'
                "            return None\n"
            ),
            "",
        ),
        (
            '    if (last.kind === "held_resolved" && told.decision !== "accept") return null;\n',
            "",
        ),
    ),
    *_both(
        "a mending that was set aside cannot be accepted",
        "living",
        (
            "if kind in MENDING or not self._is_valid(kind, v, body):",
            "if not self._is_valid(kind, v, body):",
        ),
        (
            "if (MENDING.has(kind) || !isValid(kind, v, body)) return null;",
            "if (!isValid(kind, v, body)) return null;",
        ),
        more=(
            (
                "if entry.kind in MENDING and not entry.held:\n            if target",
                "if entry.kind in MENDING:\n            if target",
            ),
            (
                'return entry.held === "" && MENDING.has(entry.kind);',
                "return MENDING.has(entry.kind);",
            ),
        ),
    ),
    *_both(
        "what is accepted must fit its kind",
        "living",
        (
            "if kind in MENDING or not self._is_valid(kind, v, body):",
            "if kind in MENDING:",
        ),
        (
            "if (MENDING.has(kind) || !isValid(kind, v, body)) return null;",
            "if (MENDING.has(kind)) return null;",
        ),
    ),
    *_both(
        "a void that is voided voids nothing",
        "living",
        (
            "return self._alive[mend.sha256] and self._is_allowed(mend, target)",
            "return self._is_allowed(mend, target)",
        ),
        (
            "return this.isAlive(mend.sha256) && this.isAllowed(mend, target);",
            "return this.isAllowed(mend, target);",
        ),
    ),
    *_both(
        "a correction that does not fit is passed over",
        "living",
        (
            '            and self._is_valid(kind, mend.body.get("as_v", v), mend.body["body"])\n',
            "",
        ),
        (" || !isValid(kind, as_v, body)) continue;", ") continue;"),
    ),
    *_both(
        "the latest correction counts",
        "living",
        (
            "        return max(\n            fitting,\n",
            "        return min(\n            fitting,\n",
        ),
        (
            "if (best === null || isLaterCorrection(mend, best)) best = mend;",
            "if (best === null || !isLaterCorrection(mend, best)) best = mend;",
        ),
    ),
    *_both(
        "no date of effect lies after receipt",
        "entries",
        ("    on = min(occurred_on, no_later_than)\n", "    on = occurred_on\n"),
        (
            "  const on = occurredOn < noLaterThan ? occurredOn : noLaterThan;\n",
            "  const on = occurredOn;\n",
        ),
    ),
    *_both(
        "no claimed time lies after receipt",
        "entries",
        (
            "min(entry.recorded_at, entry.received_at) if",
            "entry.recorded_at if",
        ),
        (
            "? Math.min(entry.recorded_at, entry.received_at) : 0",
            "? entry.recorded_at : 0",
        ),
    ),
    *_both(
        "of two edits the greater stamp wins, not the later delivery",
        "pages",
        (
            "if name not in latest or _weight(act) > _weight(latest[name]):",
            "if True:",
        ),
        (
            "if (known === undefined || isHeavier(act, known)) latest.set(name, act);",
            "if (known === undefined || act.seq > known.seq) latest.set(name, act);",
        ),
    ),
    *_both(
        "fields of a later app change nothing today",
        "living",
        (
            "body=kinds.known_fields(reading.kind, reading.v, reading.body),",
            "body=reading.body,",
        ),
        (
            "body: knownFields(told.kind, told.v, told.body),",
            "body: told.body,",
        ),
    ),
    Guard(
        "only a grower accepts a problem",
        "tubertrack/core/stock/rights.json",
        '"problem_accepted": "grower"',
        '"problem_accepted": "helper"',
        STORIES_PY,
    ),
    Guard(
        "only a grower accepts a problem (forms)",
        "tubertrack/core/stock/rights.json",
        '"problem_accepted": "grower"',
        '"problem_accepted": "helper"',
        STORIES_TS,
    ),
    Guard(
        "a helper does not edit reference rows",
        "tubertrack/core/stock/rights.json",
        '"field_set": "grower"',
        '"field_set": "helper"',
        STORIES_PY,
    ),
    Guard(
        "a helper does not edit reference rows (forms)",
        "tubertrack/core/stock/rights.json",
        '"field_set": "grower"',
        '"field_set": "helper"',
        STORIES_TS,
    ),
    Guard(
        "bytes that cannot be read have no id, kind or author (server)",
        "tubertrack/core/sync/feed.py",
        "    if isinstance(envelope, Unreadable):\n        return Entry(",
        "    if isinstance(envelope, Unreadable) and link.seq < 0:\n        return Entry(",
        ("tests/services/test_append.py",),
    ),
    Guard(
        "what was no envelope at receipt stays none (phone)",
        "frontend/src/core/stock/entries.ts",
        'typeof raw === "string" && !unreadable ? readEnvelope(raw) : null',
        'typeof raw === "string" ? readEnvelope(raw) : null',
        ("frontend/src/core/stock/entries.test.ts",),
    ),
)
