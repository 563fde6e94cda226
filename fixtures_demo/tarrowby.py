"""Tarrowby Flowers: two finished winters and one under way, told record by record.

Everything is drawn from one seed and hangs on one date ("as of"), so the same call gives the same
bytes. Losses differ by method and variety and cluster by crate. All names are invented.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from fixtures_demo.scribe import Person, Scribe
from tubertrack.core.codes import BYTES_PER_CODE, code_from_bytes

FARM_NAME = "Tarrowby Flowers"
TIME_ZONE = "Europe/London"
AS_OF = date(2026, 1, 20)
SEED = 968


@dataclass(frozen=True)
class Variety:
    """An invented variety: how it looks, how many tubers a clump gives, how it keeps, its stems."""

    name: str
    form: str
    colour: str
    tubers_a_clump: float
    frailty: float
    stems: int


GOOD, FAIR, POOR = 0.6, 1.0, 1.7
VARIETIES = (
    Variety("Oddny Larkvane", "ball", "pink", 8, GOOD, 22),
    Variety("Brackwater Bell", "miniature ball", "dark red", 9, GOOD, 26),
    Variety("Tarrowby Tallow", "formal decorative, B", "white", 5, FAIR, 9),
    Variety("Pim Haddersley", "pompon", "yellow", 11, GOOD, 24),
    Variety("Queen of Osselby", "informal decorative, AA", "lavender", 3, POOR, 5),
    Variety("Lantern Fitch", "formal decorative, BB", "orange", 7, FAIR, 14),
    Variety("Sorrel Quandary", "incurved cactus, BB", "bronze", 6, POOR, 12),
    Variety("Mrs. E. Brundish-Voss", "semi-cactus, A", "light blend", 4, FAIR, 7),
    Variety("Kestrel Marzipan", "waterlily", "light blend", 6, FAIR, 17),
    Variety("Tarrowby Ninepins", "collarette", "bicolor", 10, GOOD, 20),
    Variety("Vesper Thimblewick", "anemone", "purple", 4, POOR, 11),
    Variety("Dunmallow Giantess", "formal decorative, AA", "yellow", 2.5, POOR, 4),
    Variety("Zelka Morrow", "single", "dark pink", 12, GOOD, 28),
    Variety("Gr\u00e4fin Ottoline von Hessenquell", "stellar", "flame", 5, FAIR, 13),
)
BY_NAME = {variety.name: variety for variety in VARIETIES}
EASY = ("Oddny Larkvane", "Pim Haddersley", "Zelka Morrow", "Tarrowby Ninepins")
SPLIT_FAIRLY = ("Oddny Larkvane", "Pim Haddersley", "Lantern Fitch", "Kestrel Marzipan")


@dataclass(frozen=True)
class Method:
    """A storage method, what to write of it, and the loss to draw: mean share, spread, causes."""

    name: str
    packing: str
    container: str
    minutes_per_100: int
    cost_cents_per_100: int
    loss: float
    alike: float
    causes: tuple[tuple[str, int], ...]


SHAVINGS = Method(
    "Shavings, lined crate", "wood shavings", "lined open crate", 22, 310,
    0.13, 9, (("dried_up", 8), ("rot", 3), ("neck_or_eyes_gone", 1)),
)  # fmt: skip
VERMICULITE = Method(
    "Vermiculite, vented bags", "vermiculite", "vented bag", 35, 940,
    0.07, 12, (("rot", 4), ("dried_up", 3)),
)  # fmt: skip
WRAP = Method(
    "Cling film, bundles of 8", "cling film", "box", 75, 420,
    0.08, 1.1, (("rot", 7), ("dried_up", 1)),
)  # fmt: skip
POTTING_MIX = Method(
    "Potting compost", "potting compost", "crate", 28, 650,
    0.15, 8, (("rot", 5), ("neck_or_eyes_gone", 2), ("other", 1)),
)  # fmt: skip
WHOLE = Method(
    "Whole clumps, soil on", "own soil", "crate", 9, 60,
    0.22, 7, (("rot", 8), ("dried_up", 2)),
)  # fmt: skip
METHODS = (SHAVINGS, VERMICULITE, WRAP, POTTING_MIX, WHOLE)
CELLAR, COOLER, GARAGE = "Stone cellar", "Walk-in cooler", "Lean-to garage"
PLACES = ((CELLAR, "cellar"), (COOLER, "cooler"), (GARAGE, "garage"))
CLIMATE = {CELLAR: (6.3, 1.1, 87), COOLER: (4.1, 0.5, 63), GARAGE: (5.5, 3.2, 72)}
"""Usual temperature and its spread in degrees C, usual humidity in per cent."""


@dataclass
class Lot:
    """What the story knows of one lot: enough to keep its own book."""

    id: str
    variety: str
    count: int
    dying: list[tuple[date, str]] = field(default_factory=list)
    spare: int = 0


@dataclass
class Crate:
    """A physical crate, filled anew each winter."""

    id: str
    number: int
    place: str = ""
    method: str = ""
    lots: list[Lot] = field(default_factory=list)

    @property
    def count(self) -> int:
        return sum(lot.count for lot in self.lots)


@dataclass(frozen=True)
class Plan:
    """One crate to fill: what, how many, how, where."""

    variety: str
    count: int
    method: Method
    place: str
    moisture: str = "barely_damp"
    loss: float | None = None


class Story:
    """Tells the farm's winters. `scribe` holds what was written."""

    def __init__(self, *, seed: int, as_of: date, farm: str) -> None:
        self.rnd = random.Random(seed)
        self.scribe = Scribe(self.rnd, farm, as_of - AS_OF)
        self.farm, self.as_of = farm, as_of
        self.owner = self._person("Ishbel Crane", "owner", "Ishbel's phone")
        self.grower = self._person("Tom Averill", "grower", "Bench phone")
        self.wren = self._person("Wren Dacey", "helper", "Wren's phone")
        self.moss = self._person("Moss Tilley", "helper", "Moss's phone")
        self.people = (self.owner, self.grower, self.wren, self.moss)
        ids = self.scribe.id
        self.varieties = {variety.name: ids() for variety in VARIETIES}
        self.methods = {method.name: ids() for method in METHODS}
        self.places = {name: ids() for name, _ in PLACES}
        self.crates = [Crate(ids(), number) for number in range(1, 61)]
        self.plantings: dict[str, str] = {}

    def _person(self, name: str, role: str, phone: str) -> Person:
        return Person(name, role, self.scribe_id(), self.scribe_id(), phone)

    def scribe_id(self) -> str:
        return self.scribe.id()

    # the frame

    def tell(self) -> None:
        """Everything, from the first row to the date the story stands at."""
        year = AS_OF.year - 1
        self.set_up(date(year - 2, 9, 20))
        self.finished_winter(year - 2, self.first_plans())
        self.finished_winter(year - 1, self.second_plans(), frost=True)
        self.winter_under_way(year)

    def set_up(self, on: date) -> None:
        """Reference rows, settings, crates with numbers and codes."""
        self._rows(on, "settings", {self.farm: self._settings()})
        for variety in VARIETIES:
            fields = {"name": variety.name, "form": variety.form, "colour": variety.colour}
            self._rows(on, "varieties", {self.varieties[variety.name]: fields})
        for name, sort in PLACES:
            self._rows(on, "places", {self.places[name]: {"name": name, "sort": sort}})
        for method in METHODS:
            fields = {
                "name": method.name,
                "packing": method.packing,
                "container": method.container,
                "minutes_per_100": method.minutes_per_100,
                "cost_cents_per_100": method.cost_cents_per_100,
            }
            self._rows(on, "methods", {self.methods[method.name]: fields})
        for crate in self.crates:
            self.name_crate(crate, on)

    def _settings(self) -> dict[str, Any]:
        return {
            "farm_name": FARM_NAME,
            "as_of": self.as_of.isoformat(),
            "first_check_days": 14,
            "first_weeks": 6,
            "later_check_days": 30,
            "unsure_look_days": 14,
            "hemisphere": "north",
            "temp_unit": "c",
            "locale_words": "uk",
        }

    def _rows(self, on: date, table: str, rows: dict[str, dict[str, Any]]) -> None:
        for row, fields in rows.items():
            for name, value in fields.items():
                body = {"table": table, "row": row, "field": name, "value": value}
                self.scribe.write(self.owner, on, "field_set", body)

    def name_crate(self, crate: Crate, on: date) -> None:
        """Gives a crate its number, code and printed label."""
        self._rows(on, "crates", {crate.id: {"number": str(crate.number)}})
        code = None
        while code is None:
            code = code_from_bytes(self.rnd.randbytes(BYTES_PER_CODE))
        label = {"code": code, "target": "crate", "id": crate.id}
        self.scribe.write(self.owner, on, "labelled", label)
        printed = {"codes": [code], "stock": "a4-63x38", "purpose": "crate"}
        self.scribe.write(self.owner, on, "printed", printed)

    # plans: which crates are filled how

    def _fill(
        self, names: Sequence[str], method: Method, place: str, sizes: Sequence[int]
    ) -> list[Plan]:
        return [Plan(names[i % len(names)], size, method, place) for i, size in enumerate(sizes)]

    def first_plans(self) -> list[Plan]:
        """26 crates: shavings and whole clumps; the cooler's fan dries what stands in it."""
        others = [variety.name for variety in VARIETIES]
        cellar = self._fill(others, SHAVINGS, CELLAR, [22, 26, 18, 30, 12, 24, 20, 15, 25, 28])
        cooler = [
            Plan(name, size, SHAVINGS, COOLER, "dry", 0.17)
            for name, size in zip(
                others[4:14], [10, 26, 22, 14, 24, 27, 15, 9, 30, 20], strict=True
            )
        ]
        clumps = self._fill(others[::2], WHOLE, CELLAR, [9, 8, 10, 7, 11, 8])
        return cellar + cooler + clumps

    def second_plans(self) -> list[Plan]:
        """40 crates: film tried on easy varieties only; four crates in the garage."""
        hard = [variety.name for variety in VARIETIES if variety.name not in EASY]
        wrap = self._fill(EASY, WRAP, CELLAR, [32, 40, 24, 32, 40, 32, 24])
        wet = [Plan("Oddny Larkvane", 32, WRAP, CELLAR, "wet", 0.62)]
        shavings = self._fill(
            hard, SHAVINGS, CELLAR, [20, 16, 12, 24, 22, 18, 26, 14, 9, 25, 21, 17]
        )
        bags = self._fill(hard[::-1], VERMICULITE, COOLER, [18, 22, 20, 16, 24, 12, 20, 26, 19, 15])
        mix = self._fill(hard[2:], POTTING_MIX, CELLAR, [20, 24, 18, 22, 16, 20])
        garage = self._fill(("Brackwater Bell", "Tarrowby Tallow"), SHAVINGS, GARAGE, [24] * 4)
        return wrap + wet + shavings + bags + mix + garage

    def third_plans(self) -> list[Plan]:
        """60 crates: four varieties split fairly between film and bags, the others as before."""
        plans = []
        for name in SPLIT_FAIRLY:
            for size in (28, 36, 24, 30):
                plans.append(Plan(name, size, WRAP, CELLAR))
                plans.append(Plan(name, size, VERMICULITE, CELLAR))
        rest = [variety.name for variety in VARIETIES if variety.name not in SPLIT_FAIRLY]
        sizes = [21, 27, 22, 30, 18, 24, 26, 20, 28, 22, 20, 25]
        plans += self._fill(rest, SHAVINGS, CELLAR, sizes)
        plans += self._fill(rest[3:], VERMICULITE, COOLER, [24, 20, 30, 16, 28, 26, 22, 18])
        plans += self._fill(rest[5:], POTTING_MIX, COOLER, [20, 10, 28, 24])
        plans += self._fill(("Zelka Morrow", "Brackwater Bell"), WHOLE, GARAGE, [9, 10, 8, 11])
        return plans

    # a winter

    def finished_winter(self, year: int, plans: list[Plan], *, frost: bool = False) -> None:
        """From the first fork in October to the last planting in May."""
        filled = self.autumn(year, plans)
        rounds = [date(year, 11, 22), date(year, 12, 6), date(year, 12, 20), date(year + 1, 1, 17)]
        rounds += [date(year + 1, 2, 14), date(year + 1, 3, 9)]
        for i, on in enumerate(rounds):
            if frost and i == 4:
                self.frost_night(filled, date(year + 1, 1, 28))
            self.round_in_each_place(filled, on)
        self.spring(year + 1, filled)

    def autumn(self, year: int, plans: list[Plan]) -> list[Crate]:
        """Dig by row, divide into trays, cure, pack; returns the filled crates."""
        dug_on, packed_on = date(year, 10, 21), date(year, 11, 4)
        lots = self.dig_and_divide(plans, dug_on)
        filled = []
        places: dict[str, int] = {}
        for crate, plan in zip(self.crates, plans, strict=False):
            places[plan.place] = places.get(plan.place, 0) + 1
            on = packed_on + timedelta(days=len(filled) // 12)
            self.pack(crate, plan, lots[plan.variety, plan.method is WHOLE], on, places[plan.place])
            filled.append(crate)
        for tray in lots.values():
            if tray.count:
                body = {"lot": tray.id, "count": tray.count, "how": "given"}
                self.scribe.write(self.owner, packed_on + timedelta(days=6), "gone_out", body)
        return filled

    def dig_and_divide(self, plans: list[Plan], on: date) -> dict[tuple[str, bool], Lot]:
        """One lot of clumps a variety, cut into tubers with an eye; some stay whole."""
        tubers: dict[str, int] = {}
        whole: dict[str, int] = {}
        for plan in plans:
            book = whole if plan.method is WHOLE else tubers
            book[plan.variety] = book.get(plan.variety, 0) + plan.count
        lots = {}
        names = [variety.name for variety in VARIETIES if variety.name in tubers | whole]
        for i, name in enumerate(names):
            day = on + timedelta(days=i // 4)
            clumps = self.dig_row(name, tubers.get(name, 0), whole.get(name, 0), i, day)
            if name in whole:
                lots[name, True] = Lot(clumps.id, name, whole[name])
            if name in tubers:
                lots[name, False] = self.divide(clumps, tubers[name], whole.get(name, 0), day)
        return lots

    def dig_row(self, name: str, tubers: int, whole: int, i: int, on: date) -> Lot:
        """One row of a bed, with what was not there."""
        variety = BY_NAME[name]
        clumps = whole + max(1, round(tubers / variety.tubers_a_clump / 0.93)) if tubers else whole
        lot, rotted, empty = Lot(self.scribe.id(), name, clumps), self.rnd.randint(0, 2), i % 3 // 2
        body = {
            "bed": str(1 + i // 5),
            "row": str(1 + i % 5),
            "variety": self.varieties[name],
            "planted": clumps + rotted + empty,
            "seen": clumps + rotted,
            "lots": [{"lot": lot.id, "count": clumps}],
            "rotted": rotted,
            "no_tubers": empty,
            "nothing_there": 0,
            "still_in": 0,
        }
        if name in self.plantings:
            body["planting"] = self.plantings[name]
        self.scribe.write(self.wren if i % 2 else self.moss, on, "dug", body)
        return lot

    def divide(self, clumps: Lot, count: int, whole: int, on: date) -> Lot:
        """The clumps that are not kept whole become tubers with an eye, and some without."""
        spare = self.rnd.randint(0, 2)
        tubers = Lot(self.scribe.id(), clumps.variety, count + spare, spare=spare)
        blind, broken = max(1, round(count * 0.06)), self.rnd.randint(0, 3)
        body = {
            "from": [{"lot": clumps.id, "count": clumps.count - whole}],
            "into": [{"lot": tubers.id, "count": tubers.count, "eyes": "showing"}],
            "discarded": {"blind": blind} | ({"broken": broken} if broken else {}),
        }
        self.scribe.write(self.grower, on, "divided", body)
        cure = {"lots": [tubers.id], "place": self.places[GARAGE], "washed": True, "cut": True}
        self.scribe.write(self.grower, on, "curing_started", cure)
        end = {"lots": [tubers.id], "by_feel": "cut sealed, neck dry, skin not wrinkling"}
        self.scribe.write(self.grower, on + timedelta(days=2), "curing_ended", end)
        return tubers

    def pack(self, crate: Crate, plan: Plan, tray: Lot, on: date, position: int) -> None:
        """Counts tubers into a crate; throws out what dried badly."""
        lot = Lot(self.scribe.id(), plan.variety, plan.count)
        thrown = {"rot": 1} if tray.spare and self.rnd.random() < 0.4 else {}
        tray.spare -= len(thrown)
        taken = plan.count + sum(thrown.values())
        line: dict[str, Any] = {"lot": tray.id, "count": taken}
        if thrown:
            line["thrown_out"] = thrown
        tray.count -= taken
        body = {
            "from": [line],
            "crate": crate.id,
            "lots": [{"lot": lot.id, "count": plan.count}],
            "method": self.methods[plan.method.name],
            "moisture": plan.moisture,
            "place": self.places[plan.place],
            "position": f"{'ABC'[position % 3]}{1 + position // 3}",
        }
        self.scribe.write(self.grower, on, "packed", body)
        crate.place, crate.method, crate.lots = plan.place, plan.method.name, [lot]
        self.draw_fate(lot, plan, on)

    def draw_fate(self, lot: Lot, plan: Plan, packed_on: date) -> None:
        """Which tubers will be found lost, when and why: alike within a crate."""
        method = plan.method
        mean = (
            min(0.9, method.loss * BY_NAME[plan.variety].frailty)
            if plan.loss is None
            else plan.loss
        )
        share = self.rnd.betavariate(mean * method.alike, (1 - mean) * method.alike)
        causes = [cause for cause, weight in method.causes for _ in range(weight)]
        if plan.place == COOLER and plan.moisture == "dry":
            causes = ["dried_up"]
        for _ in range(plan.count):
            if self.rnd.random() < share:
                day = packed_on + timedelta(days=round(8 + 135 * self.rnd.betavariate(1.4, 1.8)))
                lot.dying.append((day, self.rnd.choice(causes)))

    # rounds

    def round_in_each_place(self, filled: list[Crate], on: date) -> None:
        """One round a place; a crate or two are not got at."""
        for place, _ in PLACES:
            crates = [crate for crate in filled if crate.place == place and crate.count]
            if crates:
                by = self.wren if place == CELLAR else self.moss
                skipped = [c for c in crates if self.rnd.random() < 0.05]
                seen = [crate for crate in crates if crate not in skipped]
                self.round(place, seen, on, by, not_seen=skipped)

    def round(
        self, place: str, crates: list[Crate], on: date, by: Person, *, not_seen: list[Crate] | None
    ) -> None:
        """A round by stack order; `not_seen` None leaves it unfinished."""
        key = self.scribe.id()
        look = self.rnd.choice(("top", "some", "some", "all"))
        body = {"round": key, "place": self.places[place], "look": look}
        self.scribe.write(by, on, "round_started", body)
        self.measure(place, on, by, key)
        for crate in crates:
            self.check(crate, on, by, look, key)
        if not_seen is not None:
            end = {"round": key, "not_seen": [crate.id for crate in not_seen]}
            self.scribe.write(by, on, "round_ended", end)

    def measure(
        self, place: str, on: date, by: Person, key: str, temp_c: float | None = None
    ) -> None:
        """Temperature and humidity of the place, once."""
        usual, spread, humidity = CLIMATE[place]
        told = self.rnd.gauss(usual, spread) if temp_c is None else temp_c
        reading = {
            "measured_at": self.scribe.moment(by, on),
            "temp_c": round(told, 1),
            "rh_pct": round(self.rnd.gauss(humidity, 3)),
        }
        body = {
            "place": self.places[place],
            "readings": [reading],
            **({"round": key} if key else {}),
        }
        self.scribe.write(by, on, "measured", body)

    def check(self, crate: Crate, on: date, by: Person, look: str, key: str) -> None:
        """What can be seen is thrown out; a look on top sees part of it."""
        lines = []
        for lot in crate.lots:
            seen = {"top": min(lot.count, 8), "some": min(lot.count, 12), "all": lot.count}[look]
            removed = self.take_lost(lot, on, 1.0 if look == "all" else 0.75)
            line: dict[str, Any] = {"lot": lot.id, "expected": lot.count + sum(removed.values())}
            line["seen"] = max(seen, sum(removed.values()))
            if look == "all":
                line["all"] = True
                line["seen"] = line["expected"]
            if removed:
                line["removed"] = removed
            elif self.rnd.random() < 0.08:
                line["noted"] = {"wrinkled": self.rnd.randint(1, 3)}
            lines.append(line)
        body: dict[str, Any] = {"crate": crate.id, "look": look, "lines": lines, "round": key}
        if any("removed" in line for line in lines) and self.rnd.random() < 0.3:
            body["look_again_on"] = self.scribe.day(on + timedelta(days=7))
        self.scribe.write(by, on, "checked", body)

    def take_lost(self, lot: Lot, on: date, share: float) -> dict[str, int]:
        """Counts by cause of what is lost by now and seen now; they leave the lot."""
        removed: dict[str, int] = {}
        left = []
        for day, cause in lot.dying:
            if day <= on and self.rnd.random() < share:
                removed[cause] = removed.get(cause, 0) + 1
            else:
                left.append((day, cause))
        lot.dying = left
        lot.count -= sum(removed.values())
        return removed

    def frost_night(self, filled: list[Crate], on: date) -> None:
        """A January night in the garage: 58 of 96 tubers frozen."""
        self.measure(GARAGE, on, self.owner, "", temp_c=-4.2)
        crates = [crate for crate in filled if crate.place == GARAGE]
        for crate, frozen in zip(crates, (17, 11, 19, 11), strict=True):
            lot = crate.lots[0]
            gone = min(frozen, lot.count)
            line = {
                "lot": lot.id,
                "expected": lot.count,
                "seen": lot.count,
                "all": True,
                "removed": {"frozen": gone},
            }
            lot.count -= gone
            lot.dying = lot.dying[: max(0, lot.count)]
            note = "Frost in the night, window was open. Moved what is left to the cellar."
            body = {"crate": crate.id, "look": "all", "lines": [line], "note": note}
            self.scribe.write(self.owner, on, "checked", body)
            move = {"crate": crate.id, "place": self.places[CELLAR], "position": f"D{crate.number}"}
            self.scribe.write(self.owner, on, "moved", move)
            crate.place = CELLAR

    # spring

    def spring(self, year: int, filled: list[Crate]) -> None:
        """Wake, throw out, sell some, divide clumps kept whole, plant, empty the crates."""
        fresh: dict[str, list[tuple[str, int]]] = {}
        for crate in filled:
            for lot in crate.lots:
                self.wake(crate, lot, date(year, 3, 28), fresh)
            crate.lots = []
        for i, variety in enumerate(VARIETIES):
            if variety.name in fresh:
                self.plant(variety.name, fresh[variety.name], i, date(year, 5, 18))
        for crate in filled:
            self.scribe.write(self.moss, date(year, 5, 20), "emptied", {"crate": crate.id})

    def wake(
        self, crate: Crate, lot: Lot, on: date, fresh: dict[str, list[tuple[str, int]]]
    ) -> None:
        """Everything comes out and is gone through."""
        thrown = self.take_lost(lot, on + timedelta(days=60), 1.0)
        if lot.count > 12 and self.rnd.random() < 0.12:
            missing = self.rnd.randint(1, 2)
            lot.count -= missing
            body = {"lot": lot.id, "count": lot.count + sum(thrown.values())}
            self.scribe.write(self.grower, on, "counted", body)
        woken: dict[str, Any] = {"lot": lot.id, "place": self.places[GARAGE], "showing": lot.count}
        if thrown:
            woken["thrown_out"] = thrown
        self.scribe.write(self.grower, on, "woken", woken)
        if lot.count and crate.method == WHOLE.name:
            lot = self.divide_in_spring(lot, on + timedelta(days=12))
        sold = lot.count // 3 if lot.count > 9 and self.rnd.random() < 0.5 else 0
        if sold:
            sale = {"lot": lot.id, "count": sold, "how": "sold", "sale": self.scribe.id()}
            self.scribe.write(self.owner, on + timedelta(days=15), "gone_out", sale)
        if lot.count > sold:
            fresh.setdefault(lot.variety, []).append((lot.id, lot.count - sold))

    def divide_in_spring(self, clumps: Lot, on: date) -> Lot:
        """Clumps that came through whole are cut when their eyes show."""
        per_clump = BY_NAME[clumps.variety].tubers_a_clump
        tubers = Lot(
            self.scribe.id(), clumps.variety, max(1, round(clumps.count * per_clump * 0.8))
        )
        body = {
            "from": [{"lot": clumps.id, "count": clumps.count}],
            "into": [{"lot": tubers.id, "count": tubers.count, "eyes": "showing"}],
            "discarded": {"rot": max(1, clumps.count), "blind": max(1, clumps.count // 2)},
        }
        self.scribe.write(self.grower, on, "divided", body)
        return tubers

    def plant(self, name: str, lots: list[tuple[str, int]], i: int, on: date) -> None:
        """One row a variety; what does not fit goes to the heap."""
        planting, plants = self.scribe.id(), sum(count for _, count in lots)
        self.plantings[name] = planting
        body = {
            "planting": planting,
            "bed": str(1 + i // 5),
            "row": str(1 + i % 5),
            "variety": self.varieties[name],
            "from": [{"lot": lot, "count": count} for lot, count in lots],
            "plants": plants,
            "spacing_cm": 40,
        }
        self.scribe.write(self.grower, on, "planted", body)
        up = plants - self.rnd.randint(0, max(1, plants // 12))
        emerged = {"planting": planting, "plants": up, "missing": plants - up}
        self.scribe.write(self.wren, on + timedelta(days=40), "emerged", emerged)
        stems = round(up * BY_NAME[name].stems * self.rnd.uniform(0.8, 1.1))
        cut = {"planting": planting, "stems": stems}
        self.scribe.write(self.wren, on + timedelta(days=120), "stems_cut", cut)

    # the winter under way, and what went wrong in it

    def winter_under_way(self, year: int) -> None:
        """60 crates, four rounds; the last one is not finished on the day the story stands at."""
        filled = self.autumn(year, self.third_plans())
        self.unsure_tray(date(year, 10, 24))
        sick = filled[16]
        sick.lots[0].dying = []
        for on in (date(year, 11, 22), date(year, 12, 6), date(year, 12, 20)):
            self.round_in_each_place(filled, on)
        self.unwritten_split(filled, date(year, 12, 29))
        self.two_counts(filled[10], date(year + 1, 1, 12))
        self.faded_tag(date(year + 1, 1, 13))
        self.promises(filled, date(year + 1, 1, 16))
        self.rot_in_one_crate(filled, sick, date(year + 1, 1, 19))

    def unsure_tray(self, on: date) -> None:
        """Tubers of which nobody could tell in autumn whether they have an eye."""
        clumps = Lot(self.scribe.id(), "Dunmallow Giantess", 9)
        variety = self.varieties[clumps.variety]
        dug = {"bed": "4", "row": "1", "variety": variety, "lots": [{"lot": clumps.id, "count": 9}]}
        self.scribe.write(self.moss, on, "dug", dug)
        into = [
            {"lot": self.scribe.id(), "count": 8, "eyes": "showing"},
            {"lot": self.scribe.id(), "count": 14, "eyes": "unsure"},
        ]
        body = {"from": [{"lot": clumps.id, "count": 9}], "into": into, "discarded": {"blind": 3}}
        self.scribe.write(self.grower, on, "divided", body)

    def two_counts(self, crate: Crate, on: date) -> None:
        """Two helpers, both without signal, count one crate: 34 and 31."""
        lot = crate.lots[0]
        for by, count in ((self.wren, 34), (self.moss, 31)):
            body = {"lot": lot.id, "count": count}
            self.scribe.write(by, on, "counted", body, sent_after_h=30)
        lot.count = 31

    def unwritten_split(self, filled: list[Crate], on: date) -> None:
        """A helper halved a crate into two without labels and wrote nothing; then it is empty."""
        crate = filled[40]
        body = {
            "crate": crate.id,
            "lots": [lot.id for lot in crate.lots],
            "note": "Nothing in it. Who moved these?",
        }
        self.scribe.write(self.moss, on, "emptied", body)
        for lot in crate.lots:
            lot.count = 0

    def faded_tag(self, on: date) -> None:
        """23 tubers turn up behind the shelf with a tag nobody can read."""
        body = {
            "lot": self.scribe.id(),
            "variety": "unknown",
            "unit": "tuber",
            "count": 23,
            "note": "Tag faded. Pink ball?",
        }
        self.scribe.write(self.wren, on, "found", body)

    def promises(self, filled: list[Crate], on: date) -> None:
        """12 of Queen of Osselby are promised; rot leaves 9."""
        name, order = "Queen of Osselby", self.scribe.id()
        body = {"variety": self.varieties[name], "count": 12, "order": order}
        self.scribe.write(self.owner, on, "promised", body)
        lots = [lot for crate in filled for lot in crate.lots if lot.variety == name]
        left = sum(lot.count for lot in lots)
        for crate in filled:
            for lot in crate.lots:
                if lot.variety == name and left > 9 and lot.count:
                    gone = min(lot.count, left - 9)
                    left -= gone
                    lot.count -= gone
                    lot.dying = []
                    self.write_rot(crate, lot, gone, on + timedelta(days=1), self.owner)

    def write_rot(self, crate: Crate, lot: Lot, gone: int, on: date, by: Person) -> None:
        """One check, gone through whole, that finds rot."""
        line = {
            "lot": lot.id,
            "expected": lot.count + gone,
            "seen": lot.count + gone,
            "all": True,
            "removed": {"rot": gone},
        }
        body = {"crate": crate.id, "look": "all", "lines": [line], "note": "Soft at the crown."}
        self.scribe.write(by, on, "checked", body)

    def rot_in_one_crate(self, filled: list[Crate], sick: Crate, on: date) -> None:
        """The cellar's January round stops at a crate that rots; its neighbours are not looked at."""
        cellar = [crate for crate in filled if crate.place == CELLAR and crate.count]
        before = cellar[: cellar.index(sick)]
        self.round(CELLAR, before, on, self.wren, not_seen=None)
        lot = sick.lots[0]
        gone = 7
        lot.count -= gone
        self.write_rot(sick, lot, gone, on, self.wren)


def tarrowby(*, as_of: date = AS_OF, seed: int = SEED, farm: str) -> Story:
    """The whole story as of a date. The same arguments give the same bytes."""
    story = Story(seed=seed, as_of=as_of, farm=farm)
    story.tell()
    return story
