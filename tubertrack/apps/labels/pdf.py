"""WeasyPrint, loaded only when a PDF is wanted, and kept to its own.

The text of a page is HTML; what is drawn beside it goes into the page in WeasyPrint's `finisher`.
"""

import io
import logging
from collections.abc import Sequence
from threading import Lock
from typing import Any

from tubertrack.apps.labels.fonts import Fonts

# Pages are made by one processor anyway, and the font libraries share what they know of a process.
_ONE_AT_A_TIME = Lock()


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


def load_weasyprint() -> Any:
    """The weasyprint module.

    Errors: PdfUnavailable when its system libraries cannot be loaded.
    """
    import contextlib

    try:
        # It prints advice of its own, which would be lost in a server's output.
        with contextlib.redirect_stdout(io.StringIO()):
            import weasyprint
    except (ImportError, OSError) as error:
        logging.getLogger("tubertrack.labels").info("no PDF: %s", error)
        raise PdfUnavailable from error
    return weasyprint


def write_pdf(html: str, css: str, fonts: Fonts, drawings: Sequence[bytes], title: str) -> bytes:
    """A PDF of the HTML with one content stream drawn over each page.

    Shape:  `drawings` has one stream a page, in order.
    Errors: PdfUnavailable. No address but those of `fonts` is ever opened.
    """
    with _ONE_AT_A_TIME:
        return _written(html, css, fonts, drawings, title)


def _written(html: str, css: str, fonts: Fonts, drawings: Sequence[bytes], title: str) -> bytes:
    weasyprint = load_weasyprint()
    from weasyprint.text.fonts import FontConfiguration

    fetcher = _closed_fetcher(fonts)
    configuration = FontConfiguration()
    sheet = weasyprint.CSS(
        string=f"{fonts.css}\n{css}", font_config=configuration, url_fetcher=fetcher
    )

    def finish(_document: Any, pdf: Any) -> None:
        _draw_over_pages(pdf, drawings)
        _print_at_full_size(pdf, title)

    document = weasyprint.HTML(string=html, url_fetcher=fetcher)
    written = document.write_pdf(
        stylesheets=[sheet], font_config=configuration, finisher=finish, presentational_hints=False
    )
    return bytes(written)


def _closed_fetcher(fonts: Fonts) -> Any:
    from weasyprint.urls import URLFetcher, URLFetcherResponse

    class ClosedFetcher(URLFetcher):  # type: ignore[misc]
        def fetch(self, url: str, headers: Any = None) -> Any:
            if url not in fonts.files:
                message = "a label opens no address"
                raise ValueError(message)
            return URLFetcherResponse(url, io.BytesIO(fonts.files[url].read_bytes()))

    return ClosedFetcher()


def _draw_over_pages(pdf: Any, drawings: Sequence[bytes]) -> None:
    import pydyf

    pages = [
        thing
        for thing in pdf.objects
        if isinstance(thing, pydyf.Dictionary) and thing.get("Type") == "/Page"
    ]
    if len(pages) != len(drawings):
        message = f"{len(drawings)} pages were laid out and {len(pages)} were made"
        raise RuntimeError(message)
    for page, operators in zip(pages, drawings, strict=True):
        # The page's own stream leaves its flipped matrix in effect. Without q and Q round it, what
        # follows would be mirrored and on the wrong row, and many readers would not mind.
        before, after = pydyf.Stream([b"q"]), pydyf.Stream([b"Q", operators], compress=True)
        pdf.add_object(before)
        pdf.add_object(after)
        page["Contents"] = pydyf.Array([before.reference, page["Contents"], after.reference])


def _print_at_full_size(pdf: Any, title: str) -> None:
    import pydyf

    pdf.catalog["ViewerPreferences"] = pydyf.Dictionary(
        {"PrintScaling": "/None", "DisplayDocTitle": "true"}
    )
    pdf.info["Title"] = pydyf.String(title)
