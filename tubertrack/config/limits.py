"""What is refused before a byte of it is read: too much at once, and packed bodies."""

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from tubertrack.config.errors import error_response

PACKED = "Send this as it is, without Content-Encoding: the server unpacks nothing."


def bounded_requests(
    get_response: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    """Middleware: 413, 411 or 415 for a request whose body would be too large, endless or packed.

    A packed body is never unpacked here, so no small one can become a large one. Without a
    Content-Length Django reads nothing at all; the sender is told, in place of “no JSON”.
    """
    most_bytes = settings.DATA_UPLOAD_MAX_MEMORY_SIZE

    def answer(request: HttpRequest) -> HttpResponse:
        length = request.META.get("CONTENT_LENGTH") or ""
        if length and (not length.isascii() or not length.isdigit()):
            return error_response(400)
        if length and (len(length) > 12 or int(length) > most_bytes):
            return error_response(413)
        if not length and request.META.get("HTTP_TRANSFER_ENCODING"):
            return error_response(411)
        if request.META.get("HTTP_CONTENT_ENCODING", "identity").strip().lower() != "identity":
            return error_response(415, "unsupported_encoding", PACKED)
        return get_response(request)

    return answer
