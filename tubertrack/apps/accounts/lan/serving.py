"""`manage.py start --lan`: HTTPS on the farm's network, plain HTTP for the trust page."""

from __future__ import annotations

import contextlib
import multiprocessing
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
from tubertrack.apps.accounts.lan.authority import fingerprint_rows
from tubertrack.apps.accounts.lan.keeping import Unusable
from tubertrack.apps.accounts.lan.names import Called, look_around
from tubertrack.apps.accounts.lan.standing import Say, Standing, watch
from tubertrack.apps.accounts.lan.trust import door, for_own_browser
from tubertrack.apps.accounts.services import mint_start_link

HTTPS_PORT = 8443
PORTS_TRIED = 50
EVERYWHERE = "0.0.0.0"  # noqa: S104  the farm's network is the point of it
OVERLAP_S = 5.0
"""A new worker loads for so long beside the old one before that is stopped."""

NO_ADDRESS = (
    "This computer has no address on a private network. Connect it, then start again, or name one in"
    " TUBERTRACK_HOSTS, such as 192.168.1.20 or farm.lan."
)


def serve(*, port: int, opens_browser: bool, say: Say, run: Callable[..., None]) -> None:
    """Serves the app by HTTPS to the network and the trust page by HTTP, until stopped.

    `run(port, address=, began=, before_reload=, **options of granian)` is the application server;
    it blocks. Errors: Unusable, with a sentence.
    """
    # A copy of this process would hold the locks and the database pool of the threads in it.
    multiprocessing.set_start_method("spawn", force=True)
    called = _look()
    if called is None:
        raise Unusable(NO_ADDRESS)
    plain, secure = _free_port(port), _free_port(HTTPS_PORT)
    if secure != HTTPS_PORT:
        say(
            f"Port {HTTPS_PORT} is in use, perhaps by a server that still runs, so the app is at port"
        )
        say(
            f"{secure} this time. Phones that installed it from {HTTPS_PORT} will not find it there."
        )
    folder = settings.DATA_DIR / "authority"
    standing = Standing(
        folder, called, _look, plain_port=plain, secure_port=secure, say=say, now=clock.now()
    )
    _serve_plainly(plain, standing)
    here = f"http://127.0.0.1:{plain}"
    link = mint_start_link(here, now=clock.now())
    _tell(say, standing, link=link)
    if opens_browser:
        _open_when_it_answers(f"{here}/trust/style.css", link)
    run(
        secure,
        address=EVERYWHERE,
        began=lambda reload: watch(standing, reload, clock=clock.now),
        before_reload=lambda: standing.renew(now=clock.now()),
        respawn_interval=OVERLAP_S,
        ssl_cert=standing.kept.certificate,
        ssl_key=standing.kept.key,
    )


def _look() -> Called | None:
    return look_around(settings.FURTHER_HOSTS, settings.DATA_DIR / "hosts")


def _tell(say: Say, standing: Standing, *, link: str) -> None:
    page = standing.page
    say("")
    say("Sign in on this computer with this link, once:")
    say(f"  {link}")
    say("On each phone, once, install the farm's certificate from")
    say(f"  {page.own_url}/trust")
    say("  after comparing its fingerprint with this one:")
    for row in fingerprint_rows(page.authority):
        say(f"    {row}")
    say(f"Then the app on phones: {page.app_url}")
    if not standing.called.has_lasting_name:
        say("  Give this computer that address for good in the router: a phone keeps what it has")
        say("  not sent yet under the address it was installed from.")
    if os.name == "nt":
        say(f"  Windows: whoever can read {standing.folder} holds the farm's key. Keep it in a")
        say("  folder that other users of this computer cannot open.")
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


def _serve_plainly(port: int, standing: Standing) -> None:
    server = make_server(
        EVERYWHERE,
        port,
        door(for_own_browser(get_wsgi_application()), standing.answer),
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
