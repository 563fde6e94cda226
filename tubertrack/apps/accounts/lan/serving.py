"""`manage.py start --lan`: HTTPS on the farm's network, plain HTTP for the trust page."""

from __future__ import annotations

import contextlib
import os
import socket
import threading
import time
import urllib.request
import webbrowser
from collections.abc import Callable
from socketserver import ThreadingMixIn
from typing import Any
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer, make_server

from django.conf import settings
from django.core.wsgi import get_wsgi_application

from tubertrack.apps.accounts import clock
from tubertrack.apps.accounts.lan.authority import fingerprint, may_vouch_for
from tubertrack.apps.accounts.lan.keeping import kept_certificates
from tubertrack.apps.accounts.lan.names import ALWAYS, answers_to, lan_addresses, local_name
from tubertrack.apps.accounts.lan.trust import TrustPage, door, for_own_browser
from tubertrack.apps.accounts.services import mint_start_link

HTTPS_PORT = 8443
PORTS_TRIED = 50
EVERYWHERE = "0.0.0.0"  # noqa: S104  the farm's network is the point of it

Say = Callable[[str], None]


def serve(*, port: int, opens_browser: bool, say: Say, run: Callable[..., None]) -> None:
    """Serves the app by HTTPS to the network and the trust page by HTTP, until stopped.

    `run(port, address=, ssl_cert=, ssl_key=)` is the application server; it blocks.
    """
    chosen = [host for host in settings.FURTHER_HOSTS if may_vouch_for(host)]
    addresses, name = [*chosen, *lan_addresses()], local_name()
    if not addresses:
        say("This computer has no address on a private network. Connect it, then start again, or")
        say("name one in TUBERTRACK_HOSTS, such as 192.168.1.20 or farm.lan.")
        return
    own_names = [one for one in (name, *addresses) if one]
    names = [*own_names, *ALWAYS]
    kept = kept_certificates(settings.DATA_DIR / "authority", names, now=clock.now())
    plain, secure = _free_port(port), _free_port(HTTPS_PORT)
    found_by_name = not chosen and name is not None and answers_to(name)
    host = str(name) if found_by_name else addresses[0]
    page = TrustPage(
        authority=kept.authority,
        own_url=f"http://{addresses[0]}:{plain}",
        app_url=f"https://{host}:{secure}/",
    )
    _serve_plainly(plain, page)
    here = f"http://127.0.0.1:{plain}"
    link = mint_start_link(here, now=clock.now())
    _tell(say, page, link=link, found_by_name=found_by_name)
    if opens_browser:
        _open_when_it_answers(f"{here}/trust/style.css", link)
    _settle(own_names, page.app_url)
    run(secure, address=EVERYWHERE, ssl_cert=kept.certificate, ssl_key=kept.key)


def _settle(names: list[str], app_url: str) -> None:
    """The process that serves HTTPS answers to these names and sends cookies by HTTPS alone.

    It is a copy of this process (Linux) or a new one (Windows, macOS), so both ways are used.
    """
    settings.ALLOWED_HOSTS = [*settings.ALLOWED_HOSTS, *names]
    settings.SESSION_COOKIE_SECURE = settings.CSRF_COOKIE_SECURE = True
    told = filter(None, [os.environ.get("TUBERTRACK_HOSTS"), *names])
    os.environ["TUBERTRACK_HOSTS"] = ",".join(dict.fromkeys(told))
    os.environ["TUBERTRACK_HTTPS"] = "lan"
    os.environ["TUBERTRACK_APP_URL"] = app_url  # what the QR of a pairing code leads to


def _tell(say: Say, page: TrustPage, *, link: str, found_by_name: bool) -> None:
    say("")
    say(f"On this computer, sign in with this link, once: {link}")
    say(f"On each phone, once: {page.own_url}/trust")
    say(f"  The certificate's fingerprint there must be {fingerprint(page.authority)}")
    say(f"Then the app on phones: {page.app_url}")
    if not found_by_name:
        say("  A phone keeps what is not sent yet under this address: give this computer a fixed")
        say("  address in the router, so that it stays the same.")
    say("Stop it with Ctrl-C.")


def _free_port(first: int) -> int:
    for port in range(first, first + PORTS_TRIED):
        with socket.socket() as probe:
            if os.name != "nt":  # on Windows this would share a port that is in use
                probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            with contextlib.suppress(OSError):
                probe.bind((EVERYWHERE, port))
                return port
    raise OSError(f"ports {first} to {first + PORTS_TRIED - 1} are all in use")


class _Threads(ThreadingMixIn, WSGIServer):
    daemon_threads = True


class _Quiet(WSGIRequestHandler):
    timeout = 30

    def log_message(self, *args: Any) -> None:
        pass

    def address_string(self) -> str:
        return str(self.client_address[0])  # a look-up of the name may take seconds


def _serve_plainly(port: int, page: TrustPage) -> None:
    server = make_server(
        EVERYWHERE,
        port,
        door(for_own_browser(get_wsgi_application()), page.app()),
        server_class=_Threads,
        handler_class=_Quiet,
    )
    threading.Thread(target=server.serve_forever, daemon=True).start()


def _open_when_it_answers(probe: str, link: str) -> None:
    def wait_and_open() -> None:
        for _ in range(100):
            with contextlib.suppress(OSError):
                urllib.request.urlopen(probe, timeout=2).close()  # noqa: S310  our own address
                webbrowser.open(link)
                return
            time.sleep(0.2)

    threading.Thread(target=wait_and_open, daemon=True).start()
