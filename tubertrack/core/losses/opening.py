"""How a loss report opens: does it add up, how hard we looked, which crates were worst."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from tubertrack.core.losses import wording
from tubertrack.core.losses.crate_wilson import Interval
from tubertrack.core.losses.filling_lines import (
    ACCIDENTS,
    Dimension,
    FillingLine,
    Named,
    total,
)
from tubertrack.core.losses.groups import Row

WORST = 3


@dataclass(frozen=True, slots=True)
class Sentence:
    """A sentence with the crates and entries it speaks of. topic: stable word for a screen."""

    topic: str
    text: str
    crates: tuple[str, ...] = ()
    records: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class WorstCrate:
    """A crate that lost tubers: `lost` of `held`, by cause, largest first."""

    crate: Named
    unit: str
    lost: int
    held: int
    causes: tuple[tuple[str, int], ...]
    varieties: tuple[str, ...]
    records: tuple[str, ...]

    @property
    def text(self) -> str:
        """“Crate 12: 18 of 30 (rot 18)”."""
        where = self.crate.label or "no number"
        return (
            f"Crate {where}: {wording.number(self.lost)} of {wording.units(self.held, self.unit)} "
            f"({wording.by_cause(self.causes)})"
        )


def reconciliation(row: Row) -> Sentence:
    """“Packed 1,482 tubers in 60 crates. Brought out 1,301, threw out 139, sold 20, not accounted for 22.”"""
    n = wording.number
    came = f"Packed {wording.units(row.packed.count, row.unit)} in {wording.crates(len(row.packed.crates))}"
    if row.found.count:
        came += f", found {n(row.found.count)} more"
    if row.moved_in:
        came += f", took over {n(row.moved_in)}"
    fates = [
        (
            f"brought out {n(row.brought_out.count)}",
            row.brought_out.count or not row.in_store.count,
        ),
        (f"threw out {n(row.lost)}", True),
        *(
            (f"{wording.way_out(how)} {n(figure.count)}", figure.count)
            for how, figure in row.gone_out.items()
        ),
        (f"taken to the bench or elsewhere {n(row.moved_out)}", row.moved_out),
        (f"not accounted for {n(row.missing.count)}", True),
        (f"still in store {n(row.in_store.count)}", row.in_store.count),
    ]
    said = ", ".join(text for text, is_said in fates if is_said)
    about = f" {n(row.about)} of them packed by guess (~)." if row.about else ""
    return Sentence(
        f"reconciliation_{row.unit}",
        f"{came}. {said[0].upper()}{said[1:]}.{about}",
        row.packed.crates,
        row.packed.records,
    )


@dataclass(frozen=True, slots=True)
class CrateLooks:
    """Crates by how they were looked at since packing. Each crate stands in one of the four."""

    gone_through: tuple[str, ...]
    in_part: tuple[str, ...]
    on_top: tuple[str, ...]
    never: tuple[str, ...]


def crate_looks(lines: Sequence[FillingLine]) -> CrateLooks:
    """How each crate was looked at: all of what was put in it, a counted part, on top, or not at all."""
    by_crate: dict[str, list[FillingLine]] = defaultdict(list)
    for line in lines:
        by_crate[line.crate.id].append(line)
    sorts: dict[str, list[str]] = {"all": [], "part": [], "top": [], "never": []}
    for crate, held in by_crate.items():
        sorts[_looked(held)].append(crate)
    return CrateLooks(*(tuple(sorts[sort]) for sort in ("all", "part", "top", "never")))


def _looked(held: Sequence[FillingLine]) -> str:
    settled = [
        line.in_store <= 0 and (total(line.brought_out) or total(line.thrown)) for line in held
    ]
    counted = [bool(line.vouched.count) or any(look.whole for look in line.looks) for line in held]
    whole = [line.vouched.count >= line.in_store for line in held]
    if all(s or (c and w) for s, c, w in zip(settled, counted, whole, strict=True)):
        return "all"
    if any(counted) or any(total(line.brought_out) for line in held):
        return "part"
    return "top" if any(line.looks for line in held) else "never"


def how_hard_we_looked(row: Row, lines: Sequence[FillingLine]) -> Sentence:
    """“Gone through: 31 of 60 crates. …”, with how many tubers nobody has seen since when."""
    looks = crate_looks(lines)
    n, everything = wording.number, len(row.crates)
    what = "Gone" if row.unit == "tuber" else f"{wording.units(2, row.unit)[2:].capitalize()} gone"
    parts = [f"{what} through: {n(len(looks.gone_through))} of {wording.crates(everything)}"]
    if looks.in_part:
        parts.append(f"in part {n(len(looks.in_part))}")
    if looks.on_top:
        parts.append(f"on top only {n(len(looks.on_top))}")
    if looks.never:
        parts.append(f"not looked at since packing {n(len(looks.never))}")
    text = ", ".join(parts) + "."
    seen = row.seen
    if seen.not_seen and seen.not_seen_since:
        text += f" {wording.units(seen.not_seen, row.unit)} not gone through since {wording.day(seen.not_seen_since)}."
    return Sentence(f"looked_{row.unit}", text, looks.on_top + looks.never, row.checks)


def worst_crates(lines: Sequence[FillingLine], most: int = WORST) -> list[WorstCrate]:
    """The crates that lost most, by number, then by share, then by name; none without a loss."""
    by_crate: dict[tuple[str, str], list[FillingLine]] = defaultdict(list)
    for line in lines:
        by_crate[line.crate.id, line.unit].append(line)
    found = [_crate_loss(held, unit) for (_, unit), held in by_crate.items()]
    losers = [crate for crate in found if crate.lost]
    return sorted(
        losers,
        key=lambda c: (-c.lost, -c.lost / max(1, c.held), c.crate.label, c.crate.id),
    )[:most]


def _crate_loss(held: Sequence[FillingLine], unit: str) -> WorstCrate:
    causes: dict[str, int] = defaultdict(int)
    for line in held:
        for loss in line.thrown:
            causes[loss.how] += loss.count
    varieties = {line.of(Dimension.VARIETY).label for line in held if total(line.thrown)}
    return WorstCrate(
        crate=held[0].crate,
        unit=unit,
        lost=sum(causes.values()),
        held=sum(total(line.entered) for line in held),
        causes=tuple(sorted(causes.items(), key=lambda item: (-item[1], item[0]))),
        varieties=tuple(sorted(varieties)),
        records=tuple(dict.fromkeys(loss.record for line in held for loss in line.thrown)),
    )


def accidents(row: Row) -> Sentence | None:
    """The result without frost, flood, mice and mistakes; None when there were none."""
    found: Interval | None = row.without_accidents
    if found is None:
        return None
    hit = {code: figure for code, figure in row.thrown.items() if code in ACCIDENTS}
    said = wording.by_cause((code, figure.count) for code, figure in hit.items())
    crates = tuple(dict.fromkeys(crate for figure in hit.values() for crate in figure.crates))
    text = f"Without accidents ({said}): {wording.percent(found.share)} came through."
    return Sentence(
        f"accidents_{row.unit}",
        text,
        crates,
        tuple(dict.fromkeys(r for f in hit.values() for r in f.records)),
    )
