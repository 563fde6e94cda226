"""The headers of every response, files and service worker included.

Sources: W3C Content Security Policy Level 3, Permissions Policy, Referrer Policy; WHATWG HTML 7.1.3
(opener policy), Fetch 3.7 (resource policy); OWASP HTTP Headers and REST Security Cheat Sheets.
"""

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
# What the app uses, for its own pages alone: reading labels, a screen that stays on in the cellar,
# handing a file on, copying a table.
_USED = ("camera", "clipboard-write", "screen-wake-lock", "web-share")
_OFF = (
    "accelerometer",
    "autoplay",
    "bluetooth",
    "clipboard-read",
    "display-capture",
    "encrypted-media",
    "fullscreen",
    "gamepad",
    "geolocation",
    "gyroscope",
    "hid",
    "identity-credentials-get",
    "idle-detection",
    "local-fonts",
    "magnetometer",
    "microphone",
    "midi",
    "otp-credentials",
    "payment",
    "picture-in-picture",
    "publickey-credentials-create",
    "publickey-credentials-get",
    "serial",
    "storage-access",
    "usb",
    "window-management",
    "xr-spatial-tracking",
)
PERMISSIONS_POLICY = ", ".join(
    [*(f"{one}=(self)" for one in _USED), *(f"{one}=()" for one in _OFF)]
)

ALWAYS = {
    "Content-Security-Policy": CONTENT_SECURITY_POLICY,
    "Permissions-Policy": PERMISSIONS_POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "X-Frame-Options": "DENY",
}
# Answers about a farm, and links that sign somebody in, stay in no cache of a shared computer.
KEPT_NOWHERE = ("/api/", "/sync/", "/blob/", "/admin/", "/start/", "/pair/")


def security_headers(
    get_response: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    """Middleware: the answer carries the policies, whoever made it."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        for name, value in ALWAYS.items():
            response[name] = value
        if request.path.startswith(KEPT_NOWHERE):
            response.setdefault("Cache-Control", "no-store")
        return response

    return answer
