"""Why there is no PDF now, as answers."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from rest_framework.exceptions import APIException

from tubertrack.apps.paper.pdf import PdfBusy, PdfUnavailable


class NoPdfHere(APIException):
    """The server's machine lacks the library that PDFs are made with."""

    status_code = 503
    default_code = "pdf_unavailable"


class PrintingBusy(APIException):
    """Others are having pages made."""

    status_code = 503
    default_code = "printing_busy"
    default_detail = "The server is making other pages just now. Try again in a moment."
    wait = 10


@contextmanager
def pdf_or_refusal() -> Iterator[None]:
    """Inside, a PDF that cannot be made becomes an answer that says why."""
    try:
        yield
    except PdfUnavailable as error:
        raise NoPdfHere(str(error)) from error
    except PdfBusy as error:
        raise PrintingBusy from error
