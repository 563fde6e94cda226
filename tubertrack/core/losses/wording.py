"""The sentences of a loss report, in the words people use at the bench."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from tubertrack.core.losses import crate_wilson as notes
from tubertrack.core.losses.crate_wilson import Interval

MONTHS = (
    "Jan",
    "Feb",
    "Mar",
    "Apr",
    "May",
    "Jun",
    "Jul",
    "Aug",
    "Sep",
    "Oct",
    "Nov",
    "Dec",
)

CAUSES = {
    "rot": "rot",
    "dried_up": "dried up",
    "frozen": "frozen",
    "eaten": "eaten",
    "neck_or_eyes_gone": "neck or eyes gone",
    "blind": "blind",
    "broken": "broken",
    "too_small": "too small",
    "flooded": "flooded",
    "disease": "disease",
    "by_mistake": "by mistake",
    "other": "other",
    "unknown": "don’t know",
}
WAYS_OUT = {
    "sold": "sold",
    "given": "given away",
    "shown": "shown",
    "heap": "to the heap",
    "bin": "to the bin",
    "burned": "burned",
    "used": "used",
}
UNITS = {
    "tuber": ("tuber", "tubers"),
    "clump": ("clump", "clumps"),
    "cutting": ("cutting", "cuttings"),
    "pot_plant": ("pot plant", "pot plants"),
}
NOT_WRITTEN = {
    "method": "storage method not written down",
    "variety": "variety not known",
    "place": "place not written down",
    "packing": "packing not written down",
    "moisture": "moisture not written down",
}


def cause(code: str) -> str:
    """A cause as people say it; one we do not know is shown as it was written."""
    return CAUSES.get(code, code.replace("_", " "))


def way_out(code: str) -> str:
    """A way out as people say it."""
    return WAYS_OUT.get(code, code.replace("_", " "))


def number(n: int) -> str:
    """1,482."""
    return f"{n:,}"


def units(n: int, unit: str) -> str:
    """“1 tuber”, “1,482 tubers”."""
    one, many = UNITS.get(unit, (unit.replace("_", " "), unit.replace("_", " ") + "s"))
    return f"{number(n)} {one if n == 1 else many}"


def crates(n: int) -> str:
    """“1 crate”, “60 crates”."""
    return f"{number(n)} {'crate' if n == 1 else 'crates'}"


def day(on: date) -> str:
    """“3 Nov”."""
    return f"{on.day} {MONTHS[on.month - 1]}"


def percent(share: float) -> str:
    """A share in whole percent; never 100 % (or 0 %) unless it is all (or nothing)."""
    rounded = round(share * 100)
    if rounded == 100 and share < 1:
        return "over 99 %"
    if rounded == 0 and share > 0:
        return "under 1 %"
    return f"{rounded} %"


def listed(parts: Sequence[str]) -> str:
    """“a, b and c”."""
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} and {parts[-1]}"


def by_cause(counts: Iterable[tuple[str, int]]) -> str:
    """“rot 29, dried up 9”."""
    return ", ".join(f"{cause(code)} {number(n)}" for code, n in counts)


def limits_in_words(found: Interval) -> str:
    """“Allowing for crates differing: between 60 % and 97 % come through.”"""
    return f"Allowing for crates differing: between {percent(found.low)} and {percent(found.high)} come through."


def guess(found: Interval | None, unit: str, in_store: int = 0, about: int = 0) -> str:
    """One sentence when a share is a guess or missing; empty when it is neither."""
    if found is None:
        if about:
            return f"No share: {number(about)} were packed by guess (~). Recount to get one."
        if in_store > 0:
            return f"No counts yet: nobody has gone through these {units(in_store, unit)} since packing."
        return "No counts yet."
    if notes.FEW in found.notes:
        return f"Only {units(found.tubers, unit)}: too few to say."
    if notes.ONE_CRATE in found.notes:
        return "One crate: says almost nothing; spread assumed."
    if notes.CRATES_DIFFER in found.notes:
        return "Crates differ so much here that the true range is probably wider."
    return ""


def outside(count: int, unit: str) -> str:
    """What to say of losses in crates nobody went through."""
    if not count:
        return ""
    return f"{units(count, unit)} thrown out of crates nobody went through: not in the share until somebody does."


def overdrawn(count: int, unit: str) -> str:
    """What to say when more went out of crates than came in."""
    if not count:
        return ""
    return f"Does not add up: {units(count, unit)} more went out than came in."
