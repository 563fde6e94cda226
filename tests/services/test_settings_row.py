"""A farm's settings are those of its own row, on the server as on phones."""

import pytest

from tests.farms import DAY_MS, NOON, crate_id, found, packed, place_id
from tubertrack.apps.records.models import Crate
from tubertrack.apps.records.selectors import season_of, settings_of
from tubertrack.apps.records.services import rebuild

pytestmark = pytest.mark.django_db


def test_another_row_of_that_table_sets_nothing(farms):
    phone = farms.owner

    def setting(row, field, value):
        body = {"table": "settings", "row": str(row), "field": field, "value": value}
        return phone.raw("field_set", body)

    phone.append(
        phone.raw("found", found(1, 10, 1)),
        phone.raw("packed", packed(1, 10, 1, place=place_id(1))),
    )
    due = Crate.objects.get(uid=crate_id(1)).due_on
    phone.append(
        setting(farms.other.pk, "first_check_days", 3),
        setting(place_id(9), "as_of", "2020-01-01"),
        setting(place_id(9), "hemisphere", "south"),
        now=NOON + DAY_MS,
    )
    farms.farm.refresh_from_db()
    assert ({}, "") == (settings_of(farms.farm), farms.farm.as_of)
    assert due == Crate.objects.get(uid=crate_id(1)).due_on
    north = season_of(farms.farm)
    phone.append(setting(farms.farm.pk, "hemisphere", "south"), now=NOON + DAY_MS)
    assert {"hemisphere": "south"} == settings_of(farms.farm)
    assert north != season_of(farms.farm)
    assert [] == rebuild(farms.farm.pk)
