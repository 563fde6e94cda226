"""WeasyPrint, loaded only when a PDF is wanted, and kept to its own: it opens no address but fonts."""

from __future__ import annotations

import contextlib
import io
import logging
from collections.abc import Iterator
from threading import BoundedSemaphore, Lock
from typing import Any

from tubertrack.apps.paper.fonts import Fonts

# Pages are made by one processor anyway, and the font libraries share what they know of a process.
_ONE_AT_A_TIME = Lock()
# One is made and one waits. More would wait in the threads that phones' pushes need.
_ROOM = BoundedSemaphore(2)


class PdfUnavailable(RuntimeError):
    """This computer lacks the library that PDF pages are made with; the message says what to do."""

    def __init__(self) -> None:
        super().__init__(
            "PDF pages need the Pango library, which this computer lacks: install it"
            ' (Debian or Ubuntu: "sudo apt install libpango-1.0-0 libpangoft2-1.0-0'
            ' libharfbuzz-subset0 fontconfig"; macOS: "brew install pango";'
            ' Windows: MSYS2, then "pacman -S mingw-w64-ucrt-x86_64-pango"),'
            " then start Winter Tally again."
        )


class PdfBusy(RuntimeError):
    """As many PDFs are being made or waited for as there is room for."""


@contextlib.contextmanager
def _turn() -> Iterator[None]:
    if not _ROOM.acquire(blocking=False):
        raise PdfBusy
    try:
        with _ONE_AT_A_TIME:
            yield
    finally:
        _ROOM.release()


def load_weasyprint() -> Any:
    """The weasyprint module.

    Errors: PdfUnavailable when its system libraries cannot be loaded.
    """
    try:
        # It prints advice of its own, which would be lost in a server's output.
        with contextlib.redirect_stdout(io.StringIO()):
            import weasyprint
    except (ImportError, OSError) as error:
        logging.getLogger("tubertrack.paper").info("no PDF: %s", error)
        raise PdfUnavailable from error
    return weasyprint


def write_pdf(html: str, css: str, fonts: Fonts, **options: Any) -> bytes:
    """A PDF of the HTML; `options` are those of WeasyPrint's own `write_pdf`.

    Errors: PdfUnavailable, PdfBusy. No address but those of `fonts` is ever opened.
    """
    with _turn():
        weasyprint = load_weasyprint()
        from weasyprint.text.fonts import FontConfiguration

        fetcher, configuration = _closed_fetcher(fonts), FontConfiguration()
        sheet = weasyprint.CSS(
            string=f"{fonts.css}\n{css}", font_config=configuration, url_fetcher=fetcher
        )
        document = weasyprint.HTML(string=html, url_fetcher=fetcher)
        return bytes(document.write_pdf(stylesheets=[sheet], font_config=configuration, **options))


def _closed_fetcher(fonts: Fonts) -> Any:
    from weasyprint.urls import URLFetcher, URLFetcherResponse

    class ClosedFetcher(URLFetcher):  # type: ignore[misc]
        def fetch(self, url: str, headers: Any = None) -> Any:
            if url not in fonts.files:
                raise ValueError("a printed page opens no address")
            return URLFetcherResponse(url, io.BytesIO(fonts.files[url].read_bytes()))

    return ClosedFetcher()
