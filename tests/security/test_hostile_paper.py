"""Hostile texts on paper and in tables: shown as the letters they are, and nothing happens."""

from __future__ import annotations

import contextlib
import csv
import io
import re
import socket
import threading
import unicodedata
import zlib

import pypdfium2
import pytest

from tests.security import hostile
from tests.security.bodies import kinds, thing
from tubertrack.apps.paper.fonts import Fonts
from tubertrack.apps.paper.pdf import write_pdf
from tubertrack.apps.reports.csv_table import _cell

pytestmark = pytest.mark.django_db

ACTIVE = (b"/URI", b"/JavaScript", b"/JS ", b"/Launch", b"/EmbeddedFile", b"/OpenAction", b"/GoToR")
"""What makes a PDF do something. Source: ISO 32000-1, table 198 (action types)."""
STARTS = "=+-@\t\r\n\uff1d\uff0b\uff0d\uff20"
"""OWASP, “CSV Injection”: what a spreadsheet takes for the start of a formula."""


@pytest.fixture
def farms(farms):
    farms.farm.name = hostile.MARKUP[1]
    farms.farm.save()
    told = hostile.settle(farms.owner)
    assert told["stored"].count("stored") > len(kinds())
    return farms


def is_formula(cell: str) -> bool:
    seen = [
        char for char in cell if unicodedata.category(char) not in ("Cc", "Cf", "Zs", "Zl", "Zp")
    ]
    return any(cell.startswith(char) or seen[:1] == [char] for char in STARTS)


@pytest.mark.parametrize("by", ["method", "variety", "place", "packing", "moisture"])
def test_no_cell_is_a_formula_and_numbers_stay_numbers(farms, by):
    answer = farms.owner.client.get("/api/reports/losses.csv", {"by": by})
    assert 200 == answer.status_code
    rows = list(csv.reader(io.StringIO(answer.content.decode(), newline="")))
    header, lines = rows[0], rows[1:]
    assert len(lines) > 1
    assert {len(header)} == {len(line) for line in lines}
    assert [] == [cell for cell in header if is_formula(cell)]
    for line in lines:
        for name, cell in zip(header, line, strict=True):
            if name.endswith(("(count)", "(tubers)", "(share 0 to 1)")):
                assert re.fullmatch(r"|-?\d+(\.\d+)?", cell), name
            else:
                assert not is_formula(cell), name


@pytest.mark.parametrize("text", hostile.TEXTS)
def test_a_name_is_still_the_name_after_the_apostrophe(text):
    cell = str(_cell(text))
    assert not is_formula(cell)
    assert cell == (f"'{text}" if is_formula(text) else text)


def test_numbers_are_no_texts():
    assert [-5, 0.5, ""] == [_cell(value) for value in (-5, 0.5, None)]


def unpacked(content: bytes) -> bytes:
    """The file with its streams, objects in streams included, as they read."""
    streams = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", content, re.DOTALL)
    texts = [content]
    for stream in streams:
        with contextlib.suppress(zlib.error):
            texts.append(zlib.decompress(stream))
    return b"\n".join(texts)


def pages_of(content: bytes) -> list[pypdfium2.PdfPage]:
    plain = unpacked(content)
    assert b"/Type/Page" in plain.replace(b"/Type /Page", b"/Type/Page")
    assert [] == [mark for mark in ACTIVE if mark in plain]
    return list(pypdfium2.PdfDocument(content))


def words_of(content: bytes) -> str:
    return "".join(page.get_textpage().get_text_range() for page in pages_of(content))


def outside(page: pypdfium2.PdfPage) -> list[tuple[float, ...]]:
    """Boxes of letters that are not on the page."""
    width, height = page.get_size()
    text = page.get_textpage()
    boxes = [text.get_charbox(n) for n in range(text.count_chars())]
    return [
        box
        for box in boxes
        if box[2] > box[0]
        and (box[0] < -1 or box[1] < -1 or box[2] > width + 1 or box[3] > height + 1)
    ]


@pytest.mark.parametrize("by", ["method", "variety", "place"])
def test_the_printed_report_shows_them_as_letters(farms, by):
    answer = farms.owner.client.get("/api/reports/losses.pdf", {"by": by})
    assert 200 == answer.status_code
    assert "<script>" in words_of(answer.content) or "onerror" in words_of(answer.content)
    for page in pages_of(answer.content):
        assert [] == outside(page)


def test_every_size_of_label_takes_them(farms):
    client = farms.owner.client
    for stock in client.get("/api/labels/stocks/").json():
        for kind, sort in (("crate", "crate"), ("lot", "lot")):
            told = {
                "kind": kind,
                "stock": stock["key"],
                "targets": [thing(sort, n) for n in range(3)],
            }
            answer = client.post("/api/labels/pdf/", told, format="json")
            assert 200 == answer.status_code, (stock["key"], kind, answer.content[:300])
            for page in pages_of(answer.content):
                assert [] == outside(page), (stock["key"], kind)


# ---- a printed page opens nothing


class Listener:
    """Counts who knocks at a port of this machine."""

    def __init__(self) -> None:
        self.socket = socket.create_server(("127.0.0.1", 0))
        self.port = self.socket.getsockname()[1]
        self.knocks = 0
        threading.Thread(target=self._listen, daemon=True).start()

    def _listen(self) -> None:
        while True:
            try:
                connection, _ = self.socket.accept()
            except OSError:
                return
            self.knocks += 1
            connection.close()


def test_a_page_opens_neither_a_file_nor_another_computer(tmp_path):
    """Even when a text came into the page as markup, which the tests above rule out."""
    secret = tmp_path / "secret.txt"
    secret.write_text("leek soup recipe")
    listener = Listener()
    here, there = secret.as_uri(), f"http://127.0.0.1:{listener.port}"
    html = f"""<!doctype html><html><head>
      <link rel=stylesheet href="{there}/a.css"><link rel=attachment href="{here}">
      <link rel=stylesheet href="{here}"><base href="{there}/"></head><body>
      <img src="{there}/b.png"><img src="{here}"><img src="data:text/plain,leek">
      <object data="{here}"></object><embed src="{here}"><iframe src="{there}"></iframe>
      <svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink">
        <image href="{there}/c.png" width="9" height="9"/><use xlink:href="{there}/d.svg#x"/></svg>
      <p>words</p></body></html>"""
    css = f"@import url({there}/e.css); body {{ background: url({there}/f.png) }}"
    content = write_pdf(html, css, Fonts())
    listener.socket.close()
    assert 0 == listener.knocks
    assert b"leek soup recipe" not in unpacked(content)
    assert "words" in words_of(content)
