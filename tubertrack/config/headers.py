"""The headers of every response, files and service worker included."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

# No inline script or style, and no other host, ever. 'wasm-unsafe-eval' lets the label decoder
# compile; it does not allow eval. Source: W3C Content Security Policy Level 3, section 6.
CONTENT_SECURITY_POLICY = "; ".join(
    [
        "default-src 'none'",
        "script-src 'self' 'wasm-unsafe-eval'",
        "style-src 'self'",
        "img-src 'self' data: blob:",
        "font-src 'self'",
        "connect-src 'self'",
        "manifest-src 'self'",
        "worker-src 'self'",
        "media-src 'self' blob:",
        "frame-ancestors 'none'",
        "base-uri 'none'",
        "form-action 'self'",
    ]
)
PERMISSIONS_POLICY = (
    "camera=(self), microphone=(), geolocation=(), payment=(), usb=(), display-capture=()"
)


def security_headers(
    get_response: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    """Middleware: the answer carries the policies, whoever made it."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        response["Content-Security-Policy"] = CONTENT_SECURITY_POLICY
        response["Permissions-Policy"] = PERMISSIONS_POLICY
        response.setdefault("X-Content-Type-Options", "nosniff")
        response.setdefault("Referrer-Policy", "same-origin")
        response.setdefault("Cross-Origin-Opener-Policy", "same-origin")
        response.setdefault("X-Frame-Options", "DENY")
        return response

    return answer
