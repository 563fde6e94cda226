"""A stocked farm, and a second one with the same ids and codes."""

import pytest

from tests.farms import crate_id, found, lot_id, packed, place_id
from tubertrack.apps.records.services import append  # noqa: F401  the one write path

VARIETY = "00000000-0000-4000-8000-0000000d0001"
METHOD = "00000000-0000-4000-8000-0000000e0001"
PLANTING = "00000000-0000-4000-8000-0000000f0001"
CODE = "4K7QM2X1"


def stock_records(phone, size):
    """Records that put a row into every list, `size` times."""

    def field(table, row, name, value):
        return phone.raw("field_set", {"table": table, "row": row, "field": name, "value": value})

    yield field("varieties", VARIETY, "name", "Pim Haddersley")
    yield field("places", place_id(1), "name", "Stone cellar")
    yield field("methods", METHOD, "name", "Shavings")
    yield phone.raw("labelled", {"code": CODE, "target": "crate", "id": crate_id(1)})
    for n in range(1, size + 1):
        yield phone.raw("found", found(n, 10, n, VARIETY))
        yield phone.raw("packed", packed(n, 10, n, place=place_id(1), method=METHOD))
        yield field("crates", crate_id(n), "number", f"{n:02}")
        yield field("varieties", lot_id(n), "name", f"Variety {n:02}")
        yield field("places", lot_id(n), "name", f"Place {n:02}")
        yield field("methods", lot_id(n), "name", f"Method {n:02}")
        lines = [{"lot": lot_id(n), "removed": {"rot": 1}}]
        yield phone.raw("checked", {"crate": crate_id(n), "look": "top", "lines": lines})
        readings = [{"measured_at": 1731578400000 + n, "temp_c": 5.5, "rh_pct": 81}]
        yield phone.raw("measured", {"place": place_id(1), "readings": readings})
        plants = {
            "planting": f"00000000-0000-4000-8000-0000000f{n:04}",
            "bed": f"{n:02}",
            "row": "1",
            "plants": 12,
            "variety": VARIETY,
        }
        yield phone.raw("planted", plants)
        yield phone.raw("counted", {"lot": lot_id(500 + n), "count": 3})
        yield b'{"torn": %d' % n


def stock(phone, size=3):
    phone.append(*stock_records(phone, size))


@pytest.fixture
def stocked(farms):
    stock(farms.owner)
    stock(farms.cleo, 5)
    return farms


def pytest_addoption(parser):
    parser.addoption(
        "--fuzz-examples",
        type=int,
        default=0,
        help="requests of each caller to each operation (a long run; 0: what CI has time for)",
    )
