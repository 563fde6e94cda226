"""WeasyPrint for printed reports, loaded only when a PDF is wanted; it opens no address but our fonts."""

from __future__ import annotations

import contextlib
import io
import logging
from pathlib import Path
from typing import Any

from django.conf import settings

_FACES = {
    ("B612", 400): "b612-latin-400-normal",
    ("B612", 700): "b612-latin-700-normal",
    ("B612 Mono", 400): "b612-mono-latin-400-normal",
    ("B612 Mono", 700): "b612-mono-latin-700-normal",
}


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


def write_pdf(html: str, css: str) -> bytes:
    """A tagged PDF of the page. Errors: PdfUnavailable when a system library is missing."""
    weasyprint = _load()
    from weasyprint.text.fonts import FontConfiguration

    faces = _faces(Path(settings.SPA_DIR))
    fetcher, fonts = _closed_fetcher(faces), FontConfiguration()
    rules = "\n".join(
        f'@font-face {{ font-family: "{family}"; font-weight: {weight}; src: url("{address}") }}'
        for address, (family, weight, _) in faces.items()
    )
    sheet = weasyprint.CSS(string=f"{rules}\n{css}", font_config=fonts, url_fetcher=fetcher)
    page = weasyprint.HTML(string=html, url_fetcher=fetcher)
    return bytes(page.write_pdf(stylesheets=[sheet], font_config=fonts, pdf_tags=True))


def _load() -> Any:
    try:
        # it prints advice of its own, which would be lost in a server's output
        with contextlib.redirect_stdout(io.StringIO()):
            import weasyprint
    except (ImportError, OSError) as error:
        logging.getLogger("tubertrack.reports").info("no PDF: %s", error)
        raise PdfUnavailable from error
    return weasyprint


def _faces(spa_dir: Path) -> dict[str, tuple[str, int, Path]]:
    """The cuts of B612 in the built app by address; DejaVu stands in for what is missing."""
    found = {}
    for (family, weight), beginning in _FACES.items():
        for path in sorted(spa_dir.glob(f"assets/{beginning}*.woff2"))[-1:]:
            found[path.resolve().as_uri()] = (family, weight, path)
    return found


def _closed_fetcher(faces: dict[str, tuple[str, int, Path]]) -> Any:
    from weasyprint.urls import URLFetcher, URLFetcherResponse

    class ClosedFetcher(URLFetcher):  # type: ignore[misc]
        def fetch(self, url: str, headers: Any = None) -> Any:
            if url not in faces:
                raise ValueError("a report opens no address")
            return URLFetcherResponse(url, io.BytesIO(faces[url][2].read_bytes()))

    return ClosedFetcher()
