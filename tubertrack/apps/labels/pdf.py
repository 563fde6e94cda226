"""A label sheet as PDF: text from HTML, and what is drawn beside it in WeasyPrint's `finisher`."""

from collections.abc import Sequence
from typing import Any

from tubertrack.apps.paper import pdf as paper
from tubertrack.apps.paper.fonts import Fonts


def write_pdf(html: str, css: str, fonts: Fonts, drawings: Sequence[bytes], title: str) -> bytes:
    """A PDF of the HTML with one content stream drawn over each page.

    Shape:  `drawings` has one stream a page, in order.
    Errors: PdfUnavailable. No address but those of `fonts` is ever opened.
    """

    def finish(_document: Any, pdf: Any) -> None:
        _draw_over_pages(pdf, drawings)
        _print_at_full_size(pdf, title)

    return paper.write_pdf(html, css, fonts, finisher=finish, presentational_hints=False)


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
