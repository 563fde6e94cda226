"""Tables worked out of the log: may be dropped and rebuilt at any time, and are never the truth.

Names are those of the folded state. Dates are YYYY-MM-DD or ""; -1 and "" stand for "not given".
Texts are free of NUL and lone surrogates, which a database may refuse (a record may hold them).
"""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models

from tubertrack.apps.accounts.models import Farm


def day() -> models.CharField[str, str]:
    """A date of the farm, or ""."""
    return models.CharField(max_length=10, blank=True, default="")


def ref() -> models.CharField[str, str]:
    """The id of a thing of the farm, or ""."""
    return models.CharField(max_length=36, blank=True, default="")


def text() -> models.TextField[str, str]:
    """Free text."""
    return models.TextField(blank=True, default="")


def count(default: int = 0) -> models.BigIntegerField[int, int]:
    """A whole number; histories may add up to anything."""
    return models.BigIntegerField(default=default)


def tally() -> models.JSONField[Any, Any]:
    """Counts by word."""
    return models.JSONField(default=dict)


def many() -> models.JSONField[Any, Any]:
    """A list."""
    return models.JSONField(default=list)


class Projected(models.Model):
    """A row of one farm, found by its key in the folded state."""

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="+")
    uid = models.CharField(max_length=255)

    class Meta:
        abstract = True
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(fields=["farm", "uid"], name="%(class)s_once_per_farm"),
        ]

    def __str__(self) -> str:
        return self.uid


class Setting(Projected):
    """One setting of the farm; uid is its name."""

    value = models.JSONField(null=True)

    class Meta(Projected.Meta):
        pass


class ReferenceRow(Projected):
    """A row that people name: what field_set records say of it."""

    name = text()
    archived = models.BooleanField(default=False)
    same_as = ref()

    class Meta(Projected.Meta):
        abstract = True


class Variety(ReferenceRow):
    form = text()
    size = text()
    colour = text()
    may_not_sell = models.BooleanField(default=False)

    class Meta(Projected.Meta):
        verbose_name_plural = "varieties"


class Place(ReferenceRow):
    sort = text()
    check_days = models.BigIntegerField(null=True)

    class Meta(Projected.Meta):
        pass


class Method(ReferenceRow):
    packing = text()
    container = text()
    treatment = text()
    minutes_per_100 = models.BigIntegerField(null=True)
    cost_cents_per_100 = models.BigIntegerField(null=True)

    class Meta(Projected.Meta):
        pass


class Crate(Projected):
    """A crate or tray as it stands; `due_on` is when it should be looked at, "" when empty."""

    number = text()
    name = text()
    archived = models.BooleanField(default=False)
    place = ref()
    position = text()
    since = day()
    method = ref()
    moisture = text()
    mass_g = count(-1)
    packed_on = day()
    packed_by = models.CharField(max_length=64, blank=True, default="")
    lots = many()
    looked_on = day()
    look = text()
    looked_by = models.CharField(max_length=64, blank=True, default="")
    look_again_on = day()
    code = models.CharField(max_length=8, blank=True, default="")
    emptied_on = day()
    due_on = day()

    class Meta(Projected.Meta):
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["farm", "place"], name="crate_by_place"),
            models.Index(fields=["farm", "method"], name="crate_by_method"),
            models.Index(fields=["farm", "due_on"], name="crate_by_due_on"),
            models.Index(fields=["farm", "code"], name="crate_by_code"),
        ]


class Lot(Projected):
    """Tubers, clumps, cuttings or pot plants of one variety, origin and eye state."""

    variety = ref()
    unit = text()
    eyes = text()
    grade = text()
    born_on = day()
    born_by = models.CharField(max_length=64, blank=True, default="")
    parents = many()
    container = ref()
    balance = count()
    about = models.BooleanField(default=False)
    accounts = tally()
    thrown = tally()
    out = tally()
    code = models.CharField(max_length=8, blank=True, default="")
    packed_on = day()
    packed_count = count(-1)
    packed_by = models.CharField(max_length=64, blank=True, default="")
    all_on = day()
    all_count = count(-1)
    looked_on = day()
    look = text()
    counted_on = day()
    counted = count(-1)
    curing = tally()
    woken = tally()
    quarantined = models.BooleanField(default=False)
    flags = tally()

    class Meta(Projected.Meta):
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["farm", "variety"], name="lot_by_variety"),
            models.Index(fields=["farm", "container"], name="lot_by_container"),
            models.Index(fields=["farm", "code"], name="lot_by_code"),
        ]


class Stay(Projected):
    """A lot in one crate, one place, by one method; uid is "lot:number"."""

    lot = ref()
    number = count()
    crate = ref()
    place = ref()
    position = text()
    method = ref()
    moisture = text()
    from_on = day()
    to_on = day()
    packed_on = day()
    first_crate = ref()
    entered = text()
    ended = text()

    class Meta(Projected.Meta):
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["farm", "lot"], name="stay_by_lot"),
            models.Index(fields=["farm", "crate"], name="stay_by_crate"),
            models.Index(fields=["farm", "packed_on"], name="stay_by_packed_on"),
        ]


class Posting(Projected):
    """A signed amount of one record on one lot; uid is "sha256:number"."""

    record = models.CharField(max_length=64)
    lot = ref()
    unit = text()
    account = text()
    amount = count()
    stage = text()
    cause = text()
    how = text()
    on = day()

    class Meta(Projected.Meta):
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["farm", "record"], name="posting_by_record"),
            models.Index(fields=["farm", "lot"], name="posting_by_lot"),
            models.Index(fields=["farm", "on"], name="posting_by_on"),
        ]


class Check(Projected):
    """A look into a crate; uid is the hash of its record."""

    crate = ref()
    code = models.CharField(max_length=8, blank=True, default="")
    round = ref()
    on = day()
    look = text()
    unassigned = tally()
    moisture = text()
    mass_g = count(-1)
    inside_temp_milli_c = models.BigIntegerField(null=True)
    look_again_on = day()
    note = text()
    author = ref()
    device = ref()

    class Meta(Projected.Meta):
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["farm", "crate"], name="check_by_crate"),
            models.Index(fields=["farm", "on"], name="check_by_on"),
        ]


class CheckLine(Projected):
    """What a check says of one lot; uid is "sha256:number". `check_uid` is the check's."""

    check_uid = models.CharField(max_length=64)
    number = count()
    lot = ref()
    expected = count(-1)
    seen = count(-1)
    all = models.BooleanField(default=False)
    removed = tally()
    noted = tally()

    class Meta(Projected.Meta):
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["farm", "check_uid"], name="check_line_by_check"),
            models.Index(fields=["farm", "lot"], name="check_line_by_lot"),
        ]


class Reading(Projected):
    """Temperature and humidity read off once; uid is "sha256:number". null: not taken."""

    place = ref()
    crate = ref()
    round = ref()
    measured_at = models.BigIntegerField()
    temp_milli_c = models.BigIntegerField(null=True)
    rh_milli_pct = models.BigIntegerField(null=True)
    on = day()

    class Meta(Projected.Meta):
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["farm", "place", "measured_at"], name="reading_by_place"),
        ]


class Planting(Projected):
    """Plants of one variety in a row of a bed."""

    variety = ref()
    bed = text()
    row = text()
    plants = count()
    on = day()
    sources = many()
    emerged = count(-1)
    missing = count(-1)
    removed = tally()
    stems = count()
    marks = tally()
    kept_in_ground = count(-1)
    code = models.CharField(max_length=8, blank=True, default="")

    class Meta(Projected.Meta):
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["farm", "variety"], name="planting_by_variety"),
        ]


class Problem(Projected):
    """What doesn't add up; uid is the problem's key. `accepted` is the hash of who let it stand."""

    code = models.CharField(max_length=40)
    records = many()
    voidable = many()
    facts = tally()
    outs = many()
    accepted = models.CharField(max_length=64, blank=True, default="")

    class Meta(Projected.Meta):
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["farm", "code"], name="problem_by_code"),
        ]


class HeldEntry(Projected):
    """An entry that is still set aside; uid is its hash."""

    code = models.CharField(max_length=20)

    class Meta(Projected.Meta):
        verbose_name_plural = "held entries"
