"""The printed loss report: HTML for WeasyPrint, from the same JSON values as screen and CSV."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from django.conf import settings
from django.template.loader import render_to_string
from django.utils.safestring import SafeString, mark_safe

from tubertrack.apps.paper.fonts import bundled_fonts
from tubertrack.apps.paper.pdf import write_pdf
from tubertrack.apps.reports import plot
from tubertrack.core.losses import wording

Json = dict[str, Any]
NO_BREAK = "\u00a0"
HEADINGS = {
    "method": "Storage methods",
    "variety": "Varieties",
    "place": "Places",
    "packing": "Packing",
    "moisture": "Moisture when packed",
}


def report_pdf(reports: Sequence[Json], *, farm_name: str, paper: str) -> bytes:
    """A PDF of one winter: the opening, then a part for each report, grouped as it is.

    Shape: at least one report, all of the same winter and day. Errors: PdfUnavailable.
    """
    html = report_html(reports, farm_name=farm_name)
    css = render_to_string("reports/losses.css", {"paper": paper})
    return write_pdf(html, css, bundled_fonts(Path(settings.SPA_DIR)), pdf_tags=True)


def report_html(reports: Sequence[Json], *, farm_name: str) -> str:
    """The page that is printed."""
    first = reports[0]
    told = {
        "farm": farm_name,
        "winter": first["winter"],
        "as_of": _long_day(first["as_of"]),
        "under_way": first["under_way"],
        "reconciliations": _topics(first, "reconciliation"),
        "looked": _topics(first, "looked") + _topics(first, "nothing"),
        "accidents": _topics(first, "accidents"),
        "worst": [
            {**crate, "tally": _safe(plot.tally(crate["held"], crate["lost"]))}
            for crate in first["worst"]
        ],
        "methods": first["methods"],
        "verdict": [line["text"] for line in first["verdict"] if line["topic"] != "next"],
        "next": [line["text"] for line in first["verdict"] if line["topic"] == "next"],
        "parts": [part for report in reports for part in _parts(report)],
        "axis": _safe(plot.axis()),
    }
    return render_to_string("reports/losses.html", told)


def _topics(report: Json, beginning: str) -> list[str]:
    return [line["text"] for line in report["opening"] if line["topic"].startswith(beginning)]


def _parts(report: Json) -> list[Json]:
    return [
        _part(report["by"], table, is_one_of_several=len(report["tables"]) > 1)
        for table in report["tables"]
    ]


def _part(by: str, table: Json, *, is_one_of_several: bool) -> Json:
    rows = [_row(row) for row in table["rows"]]
    columns = _columns(table)
    if len(rows) > 1:
        rows.append(_row(table["everything"], is_everything=True))
    return {
        "heading": HEADINGS[by],
        "unit": table["unit_words"] if is_one_of_several or table["unit"] != "tuber" else "",
        "unit_words": table["unit_words"],
        "rows": rows,
        "columns": [heading for heading, _ in columns],
        "counts": [(row, [cell(row) for _, cell in columns]) for row in rows],
    }


Cell = Callable[[Json], tuple[str, str]]


def _columns(table: Json) -> list[tuple[str, Cell]]:
    """Heading and (number, small print) of each column; those that would be all 0 are left out."""
    n, rows = wording.number, table["rows"]

    def any_of(name: str) -> bool:
        return any(row[name]["count"] if isinstance(row[name], dict) else row[name] for row in rows)

    columns: list[tuple[str, Cell, bool]] = [
        (
            "Packed",
            lambda row: (f"{'~' if row['about'] else ''}{n(row['packed']['count'])}", ""),
            True,
        ),
        ("Taken over", lambda row: (n(row["moved_in"]), ""), any_of("moved_in")),
        ("Found", lambda row: (n(row["found"]["count"]), ""), any_of("found")),
        ("Threw out", lambda row: (n(row["thrown_out"]), _causes(row)), True),
        ("Went out", lambda row: (n(row["went_out"]), _ways(row)), any_of("went_out")),
        ("Not accounted for", lambda row: (n(row["missing"]["count"]), _if_lost(row)), True),
        ("Taken elsewhere", lambda row: (n(row["moved_out"]), ""), any_of("moved_out")),
        ("Thrown out when divided", _cut_away, any_of("cut_away")),
        (
            "Brought out good",
            lambda row: (n(row["brought_out"]["count"]), ""),
            any_of("brought_out"),
        ),
        ("Still in store", lambda row: (n(row["in_store"]["count"]), ""), any_of("in_store")),
        ("Seen", lambda row: (n(row["seen"]["seen"]), ""), True),
        (
            "Not seen",
            lambda row: (n(row["seen"]["not_seen"]), _since(row)),
            any(row["seen"]["not_seen"] for row in rows),
        ),
    ]
    return [(heading, cell) for heading, cell, is_shown in columns if is_shown]


def _cut_away(row: Json) -> tuple[str, str]:
    count = row["cut_away"]["count"]
    return wording.number(count), "tubers" if count else ""


def _causes(row: Json) -> str:
    return wording.by_cause((line["cause"], line["count"]) for line in row["thrown"])


def _ways(row: Json) -> str:
    return ", ".join(f"{line['words']} {wording.number(line['count'])}" for line in row["gone_out"])


def _if_lost(row: Json) -> str:
    if not row["missing"]["count"] or row["worst_case"] is None:
        return ""
    return f"if lost: {_percent(row['worst_case'])}"


def _since(row: Json) -> str:
    since = row["seen"]["not_seen_since"]
    return f"since {wording.day(date.fromisoformat(since))}".replace(" ", NO_BREAK) if since else ""


def _percent(share: float) -> str:
    """“97 %”, in a column with “>99 %” for over 99."""
    words = wording.percent(share).replace("over ", ">").replace("under ", "<")
    return words.replace(" ", NO_BREAK)


def _range(found: Json) -> str:
    """“68 to 99 %”."""
    return f"{_percent(found['low']).removesuffix(f'{NO_BREAK}%')} to {_percent(found['high'])}"


def _row(row: Json, *, is_everything: bool = False) -> Json:
    found = row["came_through"]
    return {
        **row,
        "is_everything": is_everything,
        "label": "Everything" if is_everything else row["key"]["label"],
        "plot": _safe(plot.whisker(found, is_everything=is_everything)),
        "share": _percent(found["share"]) if found else "–",
        "range": _range(found) if found else "",
        "rests_on": f"{wording.number(found['tubers'])} in {wording.crates(found['crates'])}"
        if found
        else "",
        "cautions": " ".join(text for text in (row["guess"], row["outside_text"]) if text),
    }


def _long_day(day: str) -> str:
    on = date.fromisoformat(day)
    return f"{wording.day(on)} {on.year}"


def _safe(svg: str) -> SafeString:
    return mark_safe(svg)  # noqa: S308  made of numbers by plot.py
