"""Labels by the addresses that the app uses; two farms with the same codes beside each other."""

import json
from datetime import UTC, datetime
from typing import Any

import pypdfium2 as pdfium
import pytest
import zxingcpp

from tests.farms import NOON, TwoFarms, crate_id, found, lot_id, packed, place_id
from tubertrack.apps.accounts import clock
from tubertrack.apps.labels.models import IssuedCode
from tubertrack.apps.labels.services import issue_codes
from tubertrack.core.codes import code_from_bytes, is_valid_code, normalise_code, show_code

pytestmark = pytest.mark.django_db

CODE, LOT_CODE = "4K7QM2X1", code_from_bytes(bytes(range(1, 6)))
VARIETY, METHOD = place_id(71), place_id(72)
_PACKED = datetime.fromtimestamp(NOON / 1000, UTC)
DAY, YEAR = f"{_PACKED.day} {_PACKED:%b} {_PACKED.year}", str(_PACKED.year)


def field(table: str, row: str, name: str, value: Any) -> dict[str, Any]:
    return {"table": table, "row": row, "field": name, "value": value}


@pytest.fixture
def stocked(farms: TwoFarms) -> TwoFarms:
    """One packed crate with a code on each farm: the same code, other contents."""
    for phone, name in ((farms.owner, "Oddny Larkvane"), (farms.cleo, "Not Ours")):
        raws = [
            phone.raw("field_set", field("varieties", VARIETY, "name", name)),
            phone.raw("field_set", field("methods", METHOD, "name", "Vermiculite in bags")),
            phone.raw("field_set", field("crates", crate_id(1), "number", "12")),
            phone.raw("found", found(1, 34, 1, variety=VARIETY)),
            phone.raw("packed", packed(1, 34, 1, method=METHOD)),
            phone.raw("labelled", {"code": CODE, "target": "crate", "id": crate_id(1)}),
            phone.raw("labelled", {"code": LOT_CODE, "target": "lot", "id": lot_id(1)}),
            phone.raw("found", found(2, 3, 2)),
        ]
        assert {"stored"} == {one.verdict for one in phone.append(*raws)}
    return farms


def pdf_of(client: Any, **told: Any) -> Any:
    return client.post("/api/labels/pdf/", {"stock": "a4-21", "kind": "crate", **told})


def refused(response: Any, status: int, code: str) -> dict[str, Any]:
    body = response.json()
    assert (status, code) == (response.status_code, body["code"])
    return body


def words(response: Any) -> str:
    assert 200 == response.status_code, response.content
    page = pdfium.PdfDocument(response.content)[0]
    return " ".join(page.get_textpage().get_text_bounded().split())


def symbols(response: Any) -> list[str]:
    pages = pdfium.PdfDocument(response.content)
    rasters = [page.render(scale=150 / 72, grayscale=True).to_numpy() for page in pages]
    return sorted(one.text for raster in rasters for one in zxingcpp.read_barcodes(raster))


def test_the_sizes_are_handed_out_with_what_is_close_range(farms: TwoFarms) -> None:
    stocks = farms.viewer.client.get("/api/labels/stocks/").json()

    by_key = {stock["key"]: stock for stock in stocks}
    assert {"letter-30", "letter-10", "a4-21", "roll-62"} == set(by_key)
    close = {
        (key, kind["kind"]): kind["close_range"]
        for key, stock in by_key.items()
        for kind in stock["kinds"]
    }
    assert close["letter-30", "crate"]
    assert not close["letter-10", "crate"]
    assert not close["a4-21", "blank"]
    assert 30 == by_key["letter-30"]["labels_per_sheet"]


@pytest.mark.parametrize("target", [crate_id(1), CODE, "4k7q-m2x1", f"HTTPS://X.EXAMPLE/{CODE}"])
def test_a_crates_label_by_id_or_code(stocked: TwoFarms, target: str) -> None:
    response = pdf_of(stocked.helper.client, targets=[target])

    said = words(response)
    for part in (
        "4K7Q-M2X1",
        "Crate 12",
        "Oddny Larkvane",
        f"packed 34, {DAY}",
        YEAR,
        "Vermiculite",
    ):
        assert part in said
    assert "Not Ours" not in said
    assert [CODE] == symbols(response)


def test_a_lots_label(stocked: TwoFarms) -> None:
    said = words(pdf_of(stocked.helper.client, kind="lot", targets=[LOT_CODE]))

    for part in (show_code(LOT_CODE or ""), "Oddny Larkvane", "tubers", f"packed 34, {DAY}"):
        assert part in said


def test_two_labels_of_each_from_a_place_on_the_sheet(stocked: TwoFarms) -> None:
    response = pdf_of(stocked.helper.client, targets=[CODE], copies=2, start_at=21)

    assert [CODE, CODE] == symbols(response)
    assert 2 == len(pdfium.PdfDocument(response.content))


def test_the_pdf_is_named_by_the_farms_day_and_kept_by_nobody(stocked: TwoFarms) -> None:
    stocked.farm.as_of = "2026-01-20"
    stocked.farm.save()

    response = pdf_of(stocked.helper.client, targets=[CODE])

    assert 'attachment; filename="labels-2026-01-20.pdf"' == response["Content-Disposition"]
    assert "no-store" == response["Cache-Control"]
    assert "application/pdf" == response["Content-Type"]


@pytest.mark.parametrize("accept", ["application/pdf", "*/*", "application/json"])
def test_who_accepts_only_pdf_gets_it_and_refusals_in_json(stocked: TwoFarms, accept: str) -> None:
    told = {"stock": "a4-21", "kind": "crate"}
    client = stocked.helper.client

    made = client.post("/api/labels/pdf/", {**told, "targets": [CODE]}, HTTP_ACCEPT=accept)
    assert (200, "application/pdf") == (made.status_code, made["Content-Type"])
    refused(client.post("/api/labels/pdf/", told, HTTP_ACCEPT=accept), 400, "bad_input")


def test_new_codes_are_valid_unlike_and_can_be_printed(farms: TwoFarms) -> None:
    response = farms.helper.client.post("/api/labels/blanks/", {"count": 40})
    codes = response.json()["codes"]

    assert 201 == response.status_code
    assert 40 == len(set(codes))
    assert all(is_valid_code(code) for code in codes)
    sheet = pdf_of(farms.helper.client, kind="blank", targets=codes[:21])
    assert sorted(codes[:21]) == symbols(sheet)


def test_blanks_are_made_and_printed_in_one_go(farms: TwoFarms) -> None:
    sheet = pdf_of(farms.helper.client, kind="blank", blanks=10)

    issued = IssuedCode.objects.filter(farm=farms.farm).values_list("code", flat=True)
    assert 10 == len(issued)
    assert sorted(issued) == symbols(sheet)


def bytes_of(code: str) -> bytes:
    """The five bytes that the code is made of."""
    number = 0
    for character in code[:7]:
        number = number * 32 + "0123456789ABCDEFGHJKMNPQRSTVWXYZ".index(character)
    return number.to_bytes(5, "big")


def test_a_code_is_given_out_once_whatever_chance_says(stocked: TwoFarms) -> None:
    """Chance deals the bytes of a code that is on a crate already, and others twice."""
    new = [bytes([0, 0, 0, 0, n]) for n in range(60)]
    dealt = iter([bytes_of(CODE), new[0], new[0], *new])

    codes = issue_codes(stocked.farm, 3, now=clock.now(), random_bytes=lambda _: next(dealt))
    more = issue_codes(stocked.farm, 1, now=clock.now(), random_bytes=lambda _: next(dealt))

    assert 4 == len({*codes, *more})
    assert CODE not in codes
    assert code_from_bytes(new[0]) == codes[0]
    assert {*codes, *more} == set(IssuedCode.objects.values_list("code", flat=True))


def test_each_farm_has_codes_of_its_own(stocked: TwoFarms) -> None:
    [code] = issue_codes(stocked.other, 1, now=clock.now())

    body = refused(pdf_of(stocked.owner.client, kind="blank", targets=[code]), 400, "bad_input")
    assert "not a code that was made for this farm" in body["message"]
    same = issue_codes(stocked.farm, 1, now=clock.now(), random_bytes=lambda _: bytes_of(code))
    assert [code] == same


def test_what_has_no_code_or_is_not_known_is_named(stocked: TwoFarms) -> None:
    body = refused(
        pdf_of(stocked.owner.client, targets=[crate_id(1), crate_id(2), crate_id(9)]),
        400,
        "bad_input",
    )

    no_code, unknown = body["fields"]["targets"]
    assert "has no code yet" in no_code
    assert "is known to the server" in unknown
    assert crate_id(9) in unknown


@pytest.mark.parametrize(
    ("told", "name", "said"),
    [
        ({"stock": "letter-31", "targets": [CODE]}, "stock", "There are labels of a4-21"),
        ({"kind": "tag", "targets": [CODE]}, "kind", "tag"),
        ({}, "targets", "Nothing was chosen"),
        ({"targets": [CODE], "start_at": 22}, "start_at", "positions 1 to 21"),
        ({"targets": [CODE], "start_at": 0}, "start_at", "1"),
        ({"targets": [CODE], "blanks": 3}, "blanks", "Only blank labels"),
        ({"targets": [CODE] * 201, "copies": 10}, "targets", "2010 labels are too many"),
        ({"targets": [CODE], "offset_x_mm": 21}, "offset_x_mm", "20"),
        ({"targets": [CODE], "pitch_x_mm": 70}, "pitch_x_mm", "66.00 mm"),
        ({"targets": ["\x00"]}, "targets", "ull characters"),
        ({"targets": ["half \ud800"]}, "targets", "half a character"),
    ],
)
def test_bad_input_is_refused_with_a_sentence(
    stocked: TwoFarms, told: dict[str, Any], name: str, said: str
) -> None:
    whole = json.dumps({"stock": "a4-21", "kind": "crate", **told})
    response = stocked.owner.client.post("/api/labels/pdf/", whole, content_type="application/json")

    body = refused(response, 400, "bad_input")
    [field_name] = body["fields"]
    assert field_name.startswith(name)
    assert said in " ".join(body["fields"][field_name])
    assert not IssuedCode.objects.exists()


@pytest.mark.parametrize("offset", ["nan", "inf", "x", "999"])
def test_an_offset_that_is_no_length_is_refused(farms: TwoFarms, offset: str) -> None:
    response = farms.viewer.client.get(
        "/api/labels/calibration/", {"stock": "a4-21", "offset_x_mm": offset}
    )
    assert "offset_x_mm" in refused(response, 400, "bad_input")["fields"]


def test_the_calibration_page(farms: TwoFarms) -> None:
    response = farms.viewer.client.get("/api/labels/calibration/", {"stock": "letter-30"})

    assert "This bar is 100 mm" in words(response)
    assert "no-store" == response["Cache-Control"]


def test_who_may_do_what(stocked: TwoFarms, client: Any) -> None:
    refused(pdf_of(stocked.viewer.client, targets=[CODE]), 403, "not_permitted")
    refused(stocked.viewer.client.post("/api/labels/blanks/", {"count": 1}), 403, "not_permitted")
    for path in ("stocks/", "calibration/?stock=a4-21"):
        refused(client.get(f"/api/labels/{path}"), 401, "not_signed_in")
    for path in ("pdf/", "blanks/"):
        refused(client.post(f"/api/labels/{path}"), 401, "not_signed_in")


@pytest.mark.parametrize("count", [0, 2001, "many"])
def test_a_senseless_number_of_codes_is_refused(farms: TwoFarms, count: Any) -> None:
    body = refused(
        farms.owner.client.post("/api/labels/blanks/", {"count": count}), 400, "bad_input"
    )
    assert ["count"] == list(body["fields"])


def test_the_number_of_queries_does_not_grow_with_the_labels(
    stocked: TwoFarms, django_assert_max_num_queries: Any
) -> None:
    phone, count = stocked.owner, 60
    raws = []
    for n in range(100, 100 + count):
        code = next(
            code
            for low in range(256)
            if (code := code_from_bytes(bytes([0, 0, 1, n % 256, low]))) is not None
        )
        raws.append(phone.raw("found", found(n, 5, n, variety=VARIETY)))
        raws.append(phone.raw("packed", packed(n, 5, n, method=METHOD)))
        raws.append(phone.raw("labelled", {"code": code, "target": "crate", "id": crate_id(n)}))
    phone.append(*raws)

    with django_assert_max_num_queries(8):
        response = pdf_of(phone.client, targets=[crate_id(n) for n in range(100, 100 + count)])

    assert count == len(symbols(response))


def test_with_a_public_name_the_symbol_holds_an_address(stocked: TwoFarms, settings: Any) -> None:
    settings.LABEL_HOST = "farm.example"

    [text] = symbols(pdf_of(stocked.helper.client, targets=[CODE]))

    assert f"HTTPS://FARM.EXAMPLE/{CODE}" == text
    assert CODE == normalise_code(text)
