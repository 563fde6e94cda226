"""What a running server is called and vouches for, looked at again all winter.

A router may give this computer another address, and a certificate ends after a year, while the
server runs on. Both are noticed within a minute; the worker that serves HTTPS is then started anew.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Iterable
from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings

from tubertrack.apps.accounts.lan.authority import is_good_leaf
from tubertrack.apps.accounts.lan.keeping import (
    Unusable,
    kept_authority,
    kept_certificates,
    kept_leaf,
)
from tubertrack.apps.accounts.lan.names import Called
from tubertrack.apps.accounts.lan.trust import TrustPage, WsgiApp

LOOKED_EVERY_S = 60

Say = Callable[[str], None]


class Standing:
    """The names, the certificates and the trust page of a server, as they are now.

    Errors of making one: Unusable.
    """

    def __init__(
        self,
        folder: Path,
        called: Called,
        look: Callable[[], Called | None],
        *,
        plain_port: int,
        secure_port: int,
        say: Say,
        now: datetime,
    ) -> None:
        self.folder, self.look, self.say = folder, look, say
        self.plain_port, self.secure_port = plain_port, secure_port
        self._hosts_told = os.environ.get("TUBERTRACK_HOSTS", "")
        self._take(called, now=now)

    def has_changed(self, *, now: datetime) -> bool:
        """Whether phones would not find this server, or not believe it for 30 days more."""
        called = self.look()
        if called is None:
            return False  # the cable is out; nobody can ask
        leaf, authority = kept_leaf(self.folder), kept_authority(self.folder, now=now)
        return (
            leaf is None
            or self.called.host not in called.own
            or not is_good_leaf(leaf, authority, called.for_certificate, now=now)
        )

    def renew(self, *, now: datetime) -> None:
        """Takes the names as they are now. What keeps it from that is said, and nothing changes."""
        try:
            called = self.look()
            if called is None:
                return
            before = self.called, self.page
            self._take(called, now=now)
        except (OSError, Unusable) as why:
            self.say(f"The certificate could not be renewed: {why}")
            return
        if before != (self.called, self.page):
            self._tell_change(*before)

    def answer(self, environ: dict[str, Any], start: Callable[..., Any]) -> Iterable[bytes]:
        """The trust page as a WSGI application."""
        return self._page_app(environ, start)

    def _take(self, called: Called, *, now: datetime) -> None:
        self.kept = kept_certificates(self.folder, called.for_certificate, now=now)
        self.called = called
        self.page = TrustPage(
            authority=self.kept.authority,
            own_url=f"http://{called.address}:{self.plain_port}",
            app_url=f"https://{called.host}:{self.secure_port}/",
        )
        self._page_app: WsgiApp = self.page.app()
        self._settle()

    def _settle(self) -> None:
        """Workers that start from now on answer to these names; so does this process."""
        known = settings.ALLOWED_HOSTS
        settings.ALLOWED_HOSTS = [*known, *(one for one in self.called.own if one not in known)]
        settings.SESSION_COOKIE_SECURE = settings.CSRF_COOKIE_SECURE = True
        told = [*self._hosts_told.split(","), *self.called.own]
        os.environ["TUBERTRACK_HOSTS"] = ",".join(dict.fromkeys(filter(None, told)))
        os.environ["TUBERTRACK_HTTPS"] = "lan"
        os.environ["TUBERTRACK_APP_URL"] = self.page.app_url  # where a pairing code's QR leads

    def _tell_change(self, called: Called, page: TrustPage) -> None:
        self.say("")
        if page.authority != self.page.authority:
            self.say("The farm's authority was replaced: every phone has to install the new one.")
        if page.app_url == self.page.app_url:
            self.say("A new certificate is in use. Phones have nothing to do.")
            return
        self.say(f"The app's address changed to {self.page.app_url}")
        self.say(f"  Phones open it there from now on: {self.page.own_url}/trust shows the way.")
        self.say(f"  What a phone has not sent yet waits under {page.app_url}")
        self.say(
            f"  Give this computer {called.host} again in the router, for good, and it is sent."
        )


def watch(standing: Standing, reload: Callable[[], None], *, clock: Callable[[], datetime]) -> None:
    """Looks every minute, in a thread that ends with the program."""

    def look_again() -> None:
        tick = threading.Event()
        while not tick.wait(LOOKED_EVERY_S):
            try:
                if standing.has_changed(now=clock()):
                    reload()
            except (OSError, Unusable) as why:
                standing.say(f"The certificate could not be looked at: {why}")

    threading.Thread(target=look_again, daemon=True).start()
