"""What a label says of a thing, read from the projections of one farm."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Q

from tubertrack.apps.accounts.models import Farm
from tubertrack.apps.labels.label import LabelData
from tubertrack.apps.labels.models import IssuedCode
from tubertrack.apps.records.models import Crate, Lot, Method, Variety
from tubertrack.core.codes import normalise_code, qr_text, show_code

_UNITS = {
    "clump": ("clump", "clumps"),
    "tuber": ("tuber", "tubers"),
    "cutting": ("cutting", "cuttings"),
    "pot_plant": ("pot plant", "pot plants"),
}
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


class TargetsMissing(Exception):
    """Some of what was asked for has no label: `sentences` say which and what to do."""

    def __init__(self, sentences: Sequence[str]) -> None:
        super().__init__(sentences[0])
        self.sentences = list(sentences)


def farm_day(farm: Farm, now: datetime) -> str:
    """The farm's date, YYYY-MM-DD: the day a demo farm stands still on, else today in its zone."""
    return farm.as_of or now.astimezone(ZoneInfo(farm.time_zone)).date().isoformat()


def crate_labels(farm: Farm, targets: Sequence[str], host: str) -> list[LabelData]:
    """Labels of crates named by id or code, in the order asked for, with a constant number of queries.

    Errors: TargetsMissing when one is not on this farm or has no code.
    """
    crates = _found(Crate.objects.filter(farm=farm), targets, "crate")
    lots = {
        lot.uid: lot
        for lot in _rows(Lot.objects.filter(farm=farm), {uid for one in crates for uid in one.lots})
    }
    varieties = _names(farm, Variety, {lot.variety for lot in lots.values()})
    methods = _names(farm, Method, {crate.method for crate in crates})
    return [
        _crate_label(
            crate, [lots[uid] for uid in crate.lots if uid in lots], varieties, methods, host
        )
        for crate in crates
    ]


def lot_labels(farm: Farm, targets: Sequence[str], host: str) -> list[LabelData]:
    """Labels of lots named by id or code; otherwise as crate_labels."""
    lots = _found(Lot.objects.filter(farm=farm), targets, "batch")
    crates = {
        crate.uid: crate
        for crate in _rows(Crate.objects.filter(farm=farm), {lot.container for lot in lots})
    }
    varieties = _names(farm, Variety, {lot.variety for lot in lots})
    methods = _names(farm, Method, {crate.method for crate in crates.values()})
    labels = []
    for lot in lots:
        crate = crates.get(lot.container)
        labels.append(
            LabelData(
                kind="lot",
                code=lot.code,
                qr_text=qr_text(lot.code, host),
                variety=_variety(lot, varieties),
                year=(lot.packed_on or lot.born_on)[:4],
                count=_slip([lot], lot.packed_on),
                method=methods.get(crate.method, "") if crate else "",
                unit=_UNITS.get(lot.unit, ("", ""))[1],
            )
        )
    return labels


def blank_labels(farm: Farm, targets: Sequence[str], host: str) -> list[LabelData]:
    """Labels to be filled in by hand, for codes that this farm was given."""
    codes = [normalise_code(target) or "" for target in targets]
    issued: set[str] = set()
    for part in _parts(codes):
        rows = IssuedCode.objects.filter(farm=farm, code__in=part)
        issued |= set(rows.values_list("code", flat=True))
    missing = [
        f"“{target[:40]}” is not a code that was made for this farm. Make new ones and print those."
        for target, code in zip(targets, codes, strict=True)
        if code not in issued
    ]
    if missing:
        raise TargetsMissing(missing)
    return [LabelData(kind="blank", code=code, qr_text=qr_text(code, host)) for code in codes]


def _crate_label(
    crate: Any, lots: list[Any], varieties: dict[str, str], methods: dict[str, str], host: str
) -> LabelData:
    names = dict.fromkeys(_variety(lot, varieties) for lot in lots)
    return LabelData(
        kind="crate",
        code=crate.code,
        qr_text=qr_text(crate.code, host),
        number=crate.number or crate.name,
        variety=", ".join(name for name in names if name),
        year=crate.packed_on[:4],
        count=_slip([lot for lot in lots if lot.packed_on == crate.packed_on], crate.packed_on),
        method=methods.get(crate.method, ""),
    )


def _slip(lots: Iterable[Any], packed_on: str) -> str:
    """What was packed and when: true for ever. Units are never added up."""
    counts: dict[str, int] = {}
    about = False
    for lot in lots:
        if lot.packed_count >= 0:
            counts[lot.unit] = counts.get(lot.unit, 0) + lot.packed_count
            about = about or lot.about
    if not counts or not packed_on:
        return ""
    words = [
        f"{count} {_UNITS.get(unit, (unit, unit))[count != 1]}" for unit, count in counts.items()
    ]
    said = ", ".join(words) if len(words) > 1 else str(next(iter(counts.values())))
    return f"packed {'about ' if about else ''}{said}, {_spoken_date(packed_on)}"


def _spoken_date(iso: str) -> str:
    try:
        day = date.fromisoformat(iso)
    except ValueError:
        return iso
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def _variety(lot: Any, names: dict[str, str]) -> str:
    return "Variety unknown" if lot.variety == "unknown" else names.get(lot.variety, "")


def _found(rows: Any, targets: Sequence[str], thing: str) -> list[Any]:
    """The row of each target, which is an id or a code."""
    codes = {target: normalise_code(target) or "" for target in targets}
    by_key: dict[str, Any] = {}
    for part in _parts(list(codes)):
        wanted = [codes[target] for target in part if codes[target]]
        for row in rows.filter(Q(uid__in=part) | Q(code__in=wanted)):
            by_key[row.uid] = row
            if row.code:
                by_key.setdefault(row.code, row)
    found, sentences = [], []
    for target in targets:
        row = by_key.get(target) or by_key.get(codes[target])
        if row is None:
            sentences.append(
                f"No {thing} “{_shown(target)}” is known to the server. Send this device's entries"
                " first, then print again."
            )
        elif not row.code:
            name = getattr(row, "number", "") or getattr(row, "name", "") or _shown(target)
            sentences.append(f"The {thing} “{name}” has no code yet. Give it one, then print it.")
        else:
            found.append(row)
    if sentences:
        raise TargetsMissing(sentences)
    return found


def _shown(target: str) -> str:
    code = normalise_code(target)
    return show_code(code) if code else target[:40]


def _names(farm: Farm, model: Any, uids: set[str]) -> dict[str, str]:
    """Names by id; a row that is the same as another has that one's name."""
    rows = {row.uid: row for row in _rows(model.objects.filter(farm=farm), uids)}
    others = {row.same_as for row in rows.values() if row.same_as}
    same = {row.uid: row for row in _rows(model.objects.filter(farm=farm), others)}
    return {uid: same.get(row.same_as, row).name for uid, row in rows.items()}


def _rows(rows: Any, uids: set[str]) -> list[Any]:
    return [row for part in _parts(sorted(uids - {""})) for row in rows.filter(uid__in=part)]


def _parts(keys: Sequence[str]) -> list[list[str]]:
    """SQLite takes a limited number of values in one query."""
    return [list(keys[start : start + 400]) for start in range(0, len(keys), 400)]
