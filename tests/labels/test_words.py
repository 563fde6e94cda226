"""What is printed beside the symbol: complete, inside its label, and without power over the page."""

from pathlib import Path
from random import Random

import pypdfium2 as pdfium
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.labels.made import NAMES, SIXTY_LETTERS, expected, face, some_code, some_labels
from tests.labels.sheets import faults, grid_of
from tubertrack.apps.labels.fitting import fit, width_em, wrap
from tubertrack.apps.labels.label import LabelData
from tubertrack.apps.labels.layout import Placement, form_for
from tubertrack.apps.labels.pages import compose
from tubertrack.apps.labels.printable import printable
from tubertrack.apps.labels.render import render_labels
from tubertrack.apps.labels.stock import KINDS, LETTER_10, LETTER_30, ROLL_62, STOCKS, Stock
from tubertrack.apps.labels.words import words_of
from tubertrack.apps.paper.fonts import Fonts

LATIN_NAMES = [name for name in NAMES if (name and name.isascii()) or "Gräfin" in name]


def _printed(pdf: bytes) -> str:
    document = pdfium.PdfDocument(pdf)
    text = " ".join(page.get_textpage().get_text_bounded() for page in document)
    return " ".join(text.replace("\x02", "-").split())  # PDFium's mark for a hyphen at a line's end


def _label(kind: str = "crate", **words: str) -> LabelData:
    code = some_code(Random(3))
    return LabelData(kind=kind, code=code, qr_text=code, **words)  # type: ignore[arg-type]


@pytest.mark.parametrize("stock", STOCKS.values(), ids=lambda stock: stock.key)
def test_a_crates_label_says_all_that_it_was_given(stock: Stock) -> None:
    for name in LATIN_NAMES:
        label = _label(
            number="107",
            variety=name,
            year="2026",
            count="packed 34, 3 Nov 2026",
            method="Vermiculite in vented bags",
        )
        printed = _printed(render_labels([label], stock, fonts=face()))

        for part in (name, "107", "2026", "packed 34, 3 Nov 2026"):
            assert part.replace("- ", "-") in printed.replace("- ", "-")
        for word in ["Vermiculite", "in", "vented", "bags"]:
            assert word in printed


@pytest.mark.parametrize("stock", STOCKS.values(), ids=lambda stock: stock.key)
def test_sixty_letters_are_never_cut(stock: Stock) -> None:
    whole = {"method": "Vermiculite in vented bags", "count": "packed 34, 3 Nov 2026"}
    for kind in ("crate", "lot"):
        for name in (SIXTY_LETTERS, "abcdefghijklmnopqrstuvwxyzäöüß" * 2):
            label = _label(kind, variety=name, number="107", year="2026", unit="tubers", **whole)
            words = words_of(label, form_for(stock, label.kind), bundled_face=True)
            assert not words.name.is_cut
            assert not words.details.is_cut
            assert name.replace(" ", "") == "".join(words.name.lines).replace(" ", "")


@pytest.mark.parametrize("stock", STOCKS.values(), ids=lambda stock: stock.key)
def test_letters_of_any_script_stay_inside_their_label(stock: Stock) -> None:
    names = [
        "W" * 200,
        "ж" * 200,
        "暗" * 200,
        "ש" * 200,
        "Ä" * 60,
        "a\u0308\u0301\u0302\u0303" * 60,
    ]
    labels = [
        LabelData(kind, label.code, label.qr_text, name, name, name, name, name, name)
        for kind in KINDS
        for label, name in zip(some_labels(kind, len(names)), names, strict=True)
    ][: stock.labels_per_sheet if not stock.is_roll else 1]

    for bundled in (face(), Fonts()):
        pdf = render_labels(labels, stock, fonts=bundled)
        assert [] == faults(pdf, grid_of(stock.key, "crate"), expected(labels, stock), 150)


HOSTILE = [
    "</b></div><script>alert(1)</script>",
    '"><img src="file:///etc/hostname">',
    "<style>body{display:none}</style>",
    "&lt;&amp;&#0;&nbsp;]]>",
    "@import url(http://farm.example/x.css)",
    "nul\x00bell\x07esc\x1b[31m",
    "\u202egnp.exe\u202c \u2066iso\u2069 \u200fmark\u200e",
    "half \ud83d pair \udc00",
    "tuber \U0001f954\U0001f469\u200d\U0001f33e",
    "line\nfeed\r\ttab\u2028para\u2029",
    "%s {0} {{x}} {% now %} ${y}",
    "\ufffe\uffff\U0010ffff\ue000",
    ") Tj ET Q q 1 0 0 1 0 0 cm (",
]


@pytest.mark.parametrize("hostile", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_words_are_words(hostile: str) -> None:
    labels = [
        LabelData(kind, label.code, label.qr_text, *[hostile] * 6)
        for kind in ("crate", "lot")
        for label in some_labels(kind, 5)
    ]

    pdf = render_labels(labels, LETTER_10, fonts=face())

    grid = grid_of("letter-10", "crate")
    wanted = [
        one if position < 5 else type(one)(**{**one.__dict__, "box_mm": 20})
        for position, one in enumerate(expected(labels, LETTER_10))
    ]
    assert [] == faults(pdf, grid, wanted, 150)
    visible = [word for word in printable(hostile).split() if word.isascii() and word.isalpha()]
    assert all(word in _printed(pdf) for word in visible)


def test_markup_is_written_out_in_the_page() -> None:
    html = compose([_label(variety="<script>&\"'")], LETTER_10, Placement()).html

    assert "<script>" not in html
    assert "&lt;script&gt;&amp;&quot;&#x27;" in html


def test_no_file_of_this_computer_comes_into_a_label(tmp_path: Path) -> None:
    secret = tmp_path / "secret.html"
    secret.write_text("<p>between us</p>", "utf-8")
    from tubertrack.apps.labels.pdf import write_pdf

    html = f'<link rel=attachment href="{secret.as_uri()}"><img src="{secret.as_uri()}"><p>here</p>'
    pdf = write_pdf(html, f'@import "{secret.as_uri()}";', Fonts(), [b""], "Labels")

    assert "here" == _printed(pdf)
    assert b"between us" not in pdf
    assert b"EmbeddedFile" not in pdf


@given(text=st.text(max_size=300))
def test_printable_text_is_one_line_without_controls(text: str) -> None:
    shown = printable(text)
    assert len(shown) <= 200
    assert shown == shown.strip()
    assert not any(ord(one) < 32 or one in "\u202a\u202e\u2066\u200e\u200f\u2028" for one in shown)
    shown.encode("utf-8")  # no half of a pair is left


@given(
    text=st.text(alphabet=st.characters(codec="utf-8", exclude_categories=["Cc"]), max_size=120),
    width_pt=st.floats(60, 200),
    height_pt=st.floats(8, 60),
    bundled=st.booleans(),
)
def test_fitted_lines_are_inside_their_box(
    text: str, width_pt: float, height_pt: float, *, bundled: bool
) -> None:
    scale = 1.0 if bundled else 1.2
    fitted = fit(
        text,
        width_pt=width_pt,
        height_pt=height_pt,
        sizes_pt=(12, 9, 7, 6),
        leading=1.2,
        scale=scale,
    )

    for line in fitted.lines:
        assert width_em(line) * fitted.size_pt * scale <= width_pt + 1e-6
    assert len(fitted.lines) <= 1 or len(fitted.lines) * fitted.size_pt * 1.2 <= height_pt + 1e-6
    if not fitted.is_cut:
        assert "".join(text.split()) == "".join("".join(fitted.lines).split())


def test_lines_break_between_words_first() -> None:
    assert ["Mrs. E.", "Brundish-", "Voss"] == wrap("Mrs. E. Brundish-Voss", 6.0)


def test_widths_are_those_of_the_face() -> None:
    """Referee: the hmtx tables of the built font files, read with fontTools."""
    files = face().files
    if not files:  # the measure stands on its own until the app has been built
        assert 13 / 20 == width_em("8")
        return
    from fontTools.ttLib import TTFont

    for path in files.values():
        if "mono" in path.name:
            continue
        font = TTFont(path)
        glyphs, widths = font.getBestCmap(), font["hmtx"]
        for number, glyph in glyphs.items():
            if chr(number).isprintable() and number not in {0x2C6, 0x2DA, 0x2DC}:
                drawn = widths[glyph][0] / font["head"].unitsPerEm
                assert drawn <= width_em(chr(number)) + 1e-9 <= drawn + 0.051, chr(number)


def test_a_blank_label_has_its_code_and_lines_to_fill_in() -> None:
    for stock in (LETTER_30, ROLL_62):
        printed = _printed(render_labels([_label("blank")], stock, fonts=face()))
        assert all(word in printed for word in ("Variety", "How many", "Packed on"))


@pytest.mark.parametrize(
    ("code", "qr_text"), [("4K7QM2X2", "4K7QM2X2"), ("4K7Q-M2X1", "4K7QM2X1"), ("", "")]
)
def test_a_code_that_is_not_one_cannot_be_printed(code: str, qr_text: str) -> None:
    with pytest.raises(ValueError, match="is not a code that may be printed"):
        LabelData("crate", code, qr_text)


def test_a_symbol_that_leads_elsewhere_cannot_be_printed() -> None:
    with pytest.raises(ValueError, match="does not lead to that code"):
        LabelData("crate", "4K7QM2X1", "HTTPS://FARM.EXAMPLE/0000000F")
