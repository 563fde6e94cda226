"""A loss report as CSV: UTF-8, RFC 4180 lines, ISO dates, units in the header."""

from __future__ import annotations

import csv
import io
import unicodedata
from collections.abc import Iterator
from typing import Any

from tubertrack.core.losses import wording

Json = dict[str, Any]
# OWASP, “CSV Injection”: these begin a formula, full-width ones too, and what cannot be seen before
# them may be dropped on the way in.
_FORMULA_STARTS = ("=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20")
_UNSEEN = frozenset({"Cc", "Cf", "Zs", "Zl", "Zp"})
METHODS = {"crate_wilson": "crate counts", "early_leavers": "followed day by day"}


def report_csv(report: Json) -> bytes:
    """The tables of a report (as JSON values), the row of everything last in each unit."""
    causes = _columns(report, "thrown", "cause")
    ways = _columns(report, "gone_out", "how")
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(_header(report["by"], causes, ways))
    for table in report["tables"]:
        for row in (*table["rows"], table["everything"]):
            writer.writerow([_cell(value) for value in _values(report, row, causes, ways)])
    return out.getvalue().encode("utf-8")


def _columns(report: Json, part: str, name: str) -> list[str]:
    return sorted({line[name] for table in report["tables"] for line in table["everything"][part]})


def _header(by: str, causes: list[str], ways: list[str]) -> list[str]:
    return [
        "winter",
        "as of (date)",
        "unit",
        by,
        "packed (count)",
        "packed by guess (count)",
        "found (count)",
        "taken over (count)",
        "thrown out (count)",
        *(f"thrown out: {wording.cause(code)} (count)" for code in causes),
        "gone out (count)",
        *(f"gone out: {wording.way_out(how)} (count)" for how in ways),
        "not accounted for (count)",
        "taken elsewhere (count)",
        "brought out good (count)",
        "still in store (count)",
        "thrown out when divided (tubers)",
        "came through (share 0 to 1)",
        "from (share 0 to 1)",
        "to (share 0 to 1)",
        "worked out by",
        "crates in the share (count)",
        "in the share (count)",
        "crates (count)",
        "seen (count)",
        "seen from (date)",
        "seen to (date)",
        "not seen (count)",
        "not seen since (date)",
        "by the book (share 0 to 1)",
        "if all not accounted for was lost (share 0 to 1)",
        "without accidents (share 0 to 1)",
        "caution",
    ]


def _values(report: Json, row: Json, causes: list[str], ways: list[str]) -> Iterator[Any]:
    thrown = {line["cause"]: line["count"] for line in row["thrown"]}
    gone = {line["how"]: line["count"] for line in row["gone_out"]}
    through = row["came_through"] or {}
    yield from (report["winter"], report["as_of"], row["unit"], row["key"]["label"])
    yield from (row["packed"]["count"], row["about"], row["found"]["count"], row["moved_in"])
    yield row["thrown_out"]
    yield from (thrown.get(code, 0) for code in causes)
    yield row["went_out"]
    yield from (gone.get(how, 0) for how in ways)
    yield from (row["missing"]["count"], row["moved_out"])
    yield from (row["brought_out"]["count"], row["in_store"]["count"], row["cut_away"]["count"])
    yield from (through.get("share"), through.get("low"), through.get("high"))
    yield METHODS.get(through.get("method", ""), "")
    yield from (through.get("crates"), through.get("tubers"), len(row["crates"]))
    yield from (row["seen"]["seen"], row["seen"]["seen_from"], row["seen"]["seen_to"])
    yield from (row["seen"]["not_seen"], row["seen"]["not_seen_since"])
    yield from (row["by_the_book"], row["worst_case"])
    yield (row["without_accidents"] or {}).get("share")
    yield " ".join(text for text in (row["guess"], row["outside_text"]) if text)


def _cell(value: Any) -> Any:
    """Text that a spreadsheet would take for a formula gets an apostrophe in front."""
    if isinstance(value, str) and _starts_a_formula(value):
        return f"'{value}"
    return "" if value is None else value


def _starts_a_formula(text: str) -> bool:
    if text.startswith(("\t", "\r", "\n")):
        return True
    seen = next((char for char in text if unicodedata.category(char) not in _UNSEEN), "")
    return seen in _FORMULA_STARTS
