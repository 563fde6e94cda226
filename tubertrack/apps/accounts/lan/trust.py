"""The plain HTTP page on which a phone gets the farm's authority, and nothing else.

It has no sign-in since it holds no secret: a certificate is public. Everything else on that port
is for this computer's own browser alone.
"""

from __future__ import annotations

import plistlib
import uuid
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.template.loader import render_to_string

from tubertrack.apps.accounts.lan.authority import Pair, fingerprint, fingerprint_rows
from tubertrack.apps.accounts.lan.pictures import (
    button,
    compare,
    question,
    settings_rows,
    switch,
)
from tubertrack.apps.accounts.qr import qr_svg

Start = Callable[..., Any]
WsgiApp = Callable[[dict[str, Any], Start], Iterable[bytes]]

LOOPBACK = ("127.0.0.1", "::1", "::ffff:127.0.0.1")
POLICY = (
    "default-src 'none'; style-src 'self'; img-src 'self'; frame-ancestors 'none'; base-uri 'none';"
    " form-action 'none'"
)
HEADERS = [
    ("Content-Security-Policy", POLICY),
    ("X-Content-Type-Options", "nosniff"),
    ("Cache-Control", "no-store"),
    ("Referrer-Policy", "no-referrer"),
]
STYLE = Path(__file__).with_name("trust.css")


@dataclass(frozen=True, slots=True)
class TrustPage:
    """What the page tells: the authority, its own address, and where the app is."""

    authority: Pair
    own_url: str
    app_url: str

    def app(self) -> WsgiApp:
        """The page as a WSGI application; 404 with a sentence for anything else."""
        answers = self._answers()

        def answer(environ: dict[str, Any], start: Start) -> Iterable[bytes]:
            path = environ.get("PATH_INFO", "").rstrip("/") or "/trust"
            status, kind, body, more = (
                ("200 OK", *answers[path])
                if path in answers
                else ("404 Not Found", "text/plain; charset=utf-8", self._elsewhere(), [])
            )
            start(
                status,
                [("Content-Type", kind), ("Content-Length", str(len(body))), *HEADERS, *more],
            )
            return [] if environ["REQUEST_METHOD"] == "HEAD" else [body]

        return answer

    def _answers(self) -> dict[str, tuple[str, bytes, list[tuple[str, str]]]]:
        svg = "image/svg+xml"
        drawn = {
            f"/trust/pictures/{name}.svg": (svg, drawing.encode(), [])
            for name, drawing in self.pictures().items()
        }
        saved = [("Content-Disposition", 'attachment; filename="winter-tally-farm.crt"')]
        return {
            "/trust": ("text/html; charset=utf-8", self.html().encode(), []),
            "/trust/style.css": ("text/css; charset=utf-8", STYLE.read_bytes(), []),
            "/trust/farm.crt": ("application/x-x509-ca-cert", self.authority.der(), saved),
            "/trust/farm.mobileconfig": (
                "application/x-apple-aspen-config",
                self.profile(),
                [],
            ),
            "/trust/here.svg": (svg, qr_svg(f"{self.own_url}/trust").encode(), []),
            "/trust/app.svg": (svg, qr_svg(self.app_url).encode(), []),
            **drawn,
        }

    def pictures(self) -> dict[str, str]:
        """A drawing for each step that leaves this page, by its name."""
        rows, ours = settings_rows, "Winter Tally farm, …"
        return {
            "computer": compare([row.split("   ")[0] for row in fingerprint_rows(self.authority)]),
            "android-download": button("This page", "Download", "farm.crt is saved"),
            "android-search": rows(
                "Settings", ["Install a certificate", "Trusted credentials"], 0, typed="certificate"
            ),
            "android-kind": rows(
                "Install a certificate", ["CA certificate", "VPN & app certificate", "Wi-Fi"], 0
            ),
            "android-warning": question(
                ["Your data won't be", "private"], ["Install anyway", "Don't install"], 0
            ),
            "android-check": rows("Trusted credentials", ["User", ours], 1),
            "android-remove": question([ours, "SHA-256 fingerprint: …"], ["OK", "Remove"], 1),
            "iphone-download": button("This page", "Download", "Profile Downloaded"),
            "iphone-profile": rows(
                "Settings", ["Profile Downloaded", "Wi-Fi", "Bluetooth", "General"], 0
            ),
            "iphone-install": rows("Install Profile", ["Install", ours, "More Details"], 0),
            "iphone-trust": rows("About", ["Name", "Model", "Certificate Trust Settings"], 2),
            "iphone-switch": switch("Certificate Trust Settings", ours),
            "iphone-remove": rows("VPN & Device Management", [ours, "Remove Profile"], 1),
        }

    def html(self) -> str:
        """The page, in plain numbered steps."""
        words = {
            "own_url": self.own_url,
            "app_url": self.app_url,
            "name": self.authority.name(),
            "rows": fingerprint_rows(self.authority),
            "ends": self.authority.loaded().not_valid_after_utc.date().isoformat(),
        }
        return render_to_string("accounts/trust.html", words)

    def profile(self) -> bytes:
        """The authority as a configuration profile, which an iPhone can install.

        Source: Apple's configuration profile reference, payload com.apple.security.root.
        """
        mark = fingerprint(self.authority)
        ids = [str(uuid.uuid5(uuid.NAMESPACE_OID, f"{part}:{mark}")) for part in ("set", "root")]
        root = {
            "PayloadType": "com.apple.security.root",
            "PayloadVersion": 1,
            "PayloadIdentifier": "winter-tally.farm.root",
            "PayloadUUID": ids[1],
            "PayloadDisplayName": self.authority.name(),
            "PayloadContent": self.authority.der(),
        }
        return plistlib.dumps(
            {
                "PayloadType": "Configuration",
                "PayloadVersion": 1,
                "PayloadIdentifier": "winter-tally.farm",
                "PayloadUUID": ids[0],
                "PayloadDisplayName": self.authority.name(),
                "PayloadDescription": "Lets this phone trust the farm's own computer, and only"
                " on a private network.",
                "PayloadContent": [root],
            }
        )

    def _elsewhere(self) -> bytes:
        return f"Only {self.own_url}/trust is here. The app is at {self.app_url}\n".encode()


def door(own_browser: WsgiApp, page: WsgiApp) -> WsgiApp:
    """The trust page for everybody; the app over plain HTTP for this computer's own browser alone.

    What a browser shows from 127.0.0.1 never leaves the computer, so it needs no certificate.
    """

    def answer(environ: dict[str, Any], start: Start) -> Iterable[bytes]:
        asks_for_page = environ.get("PATH_INFO", "").startswith("/trust")
        host = environ.get("HTTP_HOST", "").rsplit(":", 1)[0]
        at_home = environ.get("REMOTE_ADDR") in LOOPBACK and host in ("localhost", "127.0.0.1")
        return (own_browser if at_home and not asks_for_page else page)(environ, start)

    return answer


def for_own_browser(app: WsgiApp) -> WsgiApp:
    """The app with cookies that a browser takes from 127.0.0.1 as well, where there is no HTTPS."""

    def answer(environ: dict[str, Any], start: Start) -> Iterable[bytes]:
        def plainly(status: str, headers: list[tuple[str, str]], *rest: Any) -> Any:
            return start(
                status, [(name, _without_secure(name, told)) for name, told in headers], *rest
            )

        return app(environ, plainly)

    return answer


def _without_secure(name: str, told: str) -> str:
    if name.lower() != "set-cookie":
        return told
    return "; ".join(part for part in told.split("; ") if part.strip().lower() != "secure")
