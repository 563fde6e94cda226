"""Pages of things other than lots and crates: checks, readings, rounds, plantings, reference rows."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

from tubertrack.core.stock.entries import Act

Page = dict[str, Any]


def milli(value: float | None) -> int | None:
    """Thousandths as an integer, halves up, so that every language prints the same figure."""
    return None if value is None else math.floor(value * 1000 + 0.5)


def check_page(act: Act, crate: str) -> Page:
    """One check with its lines; -1 and "" where nothing was said."""
    body = act.body
    return {
        "crate": crate,
        "code": body.get("code", ""),
        "round": body.get("round", ""),
        "on": act.on,
        "look": body["look"],
        "lines": [
            {
                "lot": line["lot"],
                "expected": line.get("expected", -1),
                "seen": line.get("seen", -1),
                "all": int(line.get("all", False)),
                "removed": line.get("removed", {}),
                "noted": line.get("noted", {}),
            }
            for line in body["lines"]
        ],
        "unassigned": body.get("unassigned", {}),
        "moisture": body.get("moisture", ""),
        "mass_g": body.get("mass_g", -1),
        "inside_temp_milli_c": milli(body.get("inside_temp_c")),
        "look_again_on": body.get("look_again_on", ""),
        "note": body.get("note", ""),
        "author": act.author,
        "device": act.device,
    }


def reading_pages(act: Act) -> dict[str, Page]:
    """The readings of one entry by "hash:number"."""
    body = act.body
    return {
        f"{act.sha256}:{i}": {
            "place": body.get("place", ""),
            "crate": body.get("crate", ""),
            "round": body.get("round", ""),
            "measured_at": reading["measured_at"],
            "temp_milli_c": milli(reading.get("temp_c")),
            "rh_milli_pct": milli(reading.get("rh_pct")),
            "on": act.on,
        }
        for i, reading in enumerate(body["readings"])
    }


def round_page(acts: Sequence[Act]) -> Page | None:
    """A round from its start, its checks and its end, in order; None before it is started."""
    page: Page | None = None
    seen: list[str] = []
    for act in acts:
        body = act.body
        if act.kind == "round_started" and page is None:
            page = {
                "place": body["place"],
                "on": act.on,
                "look": body.get("look", ""),
                "ended": 0,
                "not_seen": [],
                "by": act.author,
            }
        elif act.kind == "checked" and body.get("crate") and body["crate"] not in seen:
            seen.append(body["crate"])
        elif act.kind == "round_ended" and page is not None:
            page |= {"ended": 1, "not_seen": list(body.get("not_seen", []))}
    return None if page is None else {**page, "seen": seen}


def planting_page(acts: Iterable[Act], *, variety: str, code: str) -> Page:
    """A planting from planting to digging."""
    page: Page = {
        "variety": variety,
        "bed": "",
        "row": "",
        "plants": 0,
        "on": "",
        "from": [],
        "emerged": -1,
        "missing": -1,
        "removed": {},
        "stems": 0,
        "marks": {},
        "kept_in_ground": -1,
        "code": code,
    }
    for act in acts:
        _read(page, act)
    return page


def _read(page: Page, act: Act) -> None:
    body = act.body
    if act.kind == "planted":
        lines = body.get("from", [])
        page["on"] = page["on"] or act.on
        page["bed"], page["row"] = body.get("bed", page["bed"]), body.get("row", page["row"])
        page["plants"] += body.get("plants", sum(line["count"] for line in lines))
        page["from"] += [{"lot": line["lot"], "count": line["count"]} for line in lines]
    elif act.kind == "emerged":
        page["emerged"] = body.get("plants", page["emerged"])
        page["missing"] = body.get("missing", page["missing"])
    elif act.kind == "rogued":
        for cause, count in body.get("removed", {}).items():
            page["removed"][cause] = page["removed"].get(cause, 0) + count
    elif act.kind == "stems_cut":
        page["stems"] += body["stems"]
    elif act.kind == "marked":
        page["marks"][body["mark"]] = page["marks"].get(body["mark"], 0) + 1
    elif act.kind == "kept_in_ground":
        page["kept_in_ground"] = body.get("plants", -1)


def row_page(acts: Iterable[Act]) -> Page:
    """A reference row: for each field the value with the greatest stamp."""
    latest: dict[str, Act] = {}
    for act in acts:
        name = act.body["field"]
        if name not in latest or _weight(act) > _weight(latest[name]):
            latest[name] = act
    return {
        name: {"value": act.body["value"], "by": act.sha256, "on": act.on}
        for name, act in latest.items()
    }


def _weight(act: Act) -> tuple[tuple[int, int], int, str]:
    return act.stamp, act.seq, act.sha256
