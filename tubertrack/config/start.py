"""The start command, once everything is installed: migrate, load the demo farm, serve."""

import contextlib
import importlib
import importlib.util
import os
import socket
import threading
import time
import urllib.request
import webbrowser
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import django
from django.conf import settings

from tubertrack.config.setup.progress import Stop, say

PORTS_TRIED = 50


@dataclass(frozen=True)
class Choices:
    """What was asked for on the command line."""

    port: int
    opens_browser: bool
    on_farm_network: bool
    empty: bool


def start(choices: Choices) -> int:
    """Serves until it is stopped; 0 after a stop by Ctrl-C."""
    django.setup()
    _refuse_a_half_told_way(choices)
    _bring_database_up_to_date(empty=choices.empty)
    if choices.on_farm_network:
        return _serve_on_farm_network(choices)
    port = free_port(choices.port)
    here = f"http://127.0.0.1:{port}"
    base_url = settings.PUBLIC_URL or here
    link = sign_in_link(base_url)
    say("")
    if settings.PUBLIC_URL:
        say(f"The proxy finds Winter Tally at {here} and shows it at {base_url}/")
    else:
        say(f"Winter Tally runs at {base_url}/")
    if link:
        say(f"Sign in with this link, once: {link}")
    say("Stop it with Ctrl-C.")
    if choices.opens_browser and not settings.PUBLIC_URL:
        _open_when_it_answers(base_url, link or f"{base_url}/")
    serve(port)
    return 0


def _refuse_a_half_told_way(choices: Choices) -> None:
    """Errors: Stop, where nobody could come in."""
    if settings.WAY_IN.proxies and choices.on_farm_network:
        raise Stop(
            "--lan serves HTTPS itself and TUBERTRACK_HTTPS=1 leaves it to a proxy. Choose one."
        )
    if settings.WAY_IN.proxies and not settings.PUBLIC_URL:
        raise Stop("Say under which public name the proxy shows it: TUBERTRACK_HOSTS=farm.example")


def free_port(first: int) -> int:
    """The first port from `first` on that nothing on this computer listens at."""
    for port in range(first, first + PORTS_TRIED):
        with socket.socket() as probe:
            if os.name != "nt":  # on Windows this option would share a port that is in use
                probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind(("127.0.0.1", port))
            except OSError:
                continue
        if port != first:
            say(f"Port {first} is in use; taking {port}.")
        return port
    raise Stop(f"Ports {first} to {first + PORTS_TRIED - 1} are all in use. Choose one by --port.")


def serve(
    port: int,
    *,
    address: str = "127.0.0.1",
    began: Callable[[Callable[[], None]], None] | None = None,
    before_reload: Callable[[], None] | None = None,
    **options: Any,
) -> None:
    """Answers until it is stopped; on this computer alone unless another address is given.

    `began` is handed what starts the worker anew, with its files read anew (so does SIGHUP);
    `before_reload` is called first each time. `options` are granian's: ssl_cert and ssl_key (paths)
    for HTTPS.
    """
    from granian.constants import Interfaces
    from granian.server import Server

    os.environ["DJANGO_SETTINGS_MODULE"] = "tubertrack.config.settings"
    _let_go_of_databases()
    server = Server(
        "tubertrack.config.rsgi:application_for_granian",
        factory=True,
        address=address,
        port=port,
        interface=Interfaces.RSGI,
        workers=1,  # more would only wait for SQLite's one writer
        workers_kill_timeout=5,  # one that is told to stop while it loads does not hear it
        respawn_failed_workers=True,  # one that was killed, as when memory ran out, comes back
        log_access=False,
        log_level="warning",
        **options,
    )
    if before_reload:
        server.on_reload(before_reload)
    if began:
        began(server.signal_handler_reload)
    server.serve()


def _let_go_of_databases() -> None:
    """A worker may be a copy of this process, and must not share a connection or a pool with it."""
    from django.db import connections

    for connection in connections.all(initialized_only=True):
        connection.close()
        if hasattr(connection, "close_pool"):
            connection.close_pool()


def sign_in_link(base_url: str) -> str | None:
    """A link that signs the owner of this computer's farm in, once; None before accounts exist."""
    mint: Callable[..., str] | None = _optional(
        "tubertrack.apps.accounts.services", "mint_start_link"
    )
    return mint(base_url, now=datetime.now(UTC)) if mint else None


def _bring_database_up_to_date(*, empty: bool) -> None:
    from django.core.management import call_command, get_commands
    from django.db import connection

    new = "django_migrations" not in connection.introspection.table_names()
    if new:
        say("  Making the database ...")
    call_command("migrate", verbosity=0, interactive=False)
    if not new:
        call_command("reclassify", verbosity=1)  # an update may understand more
    if new and not empty and "load_demo" in get_commands():
        say("  Loading the demo farm (some seconds) ...")
        try:
            call_command("load_demo", verbosity=0)
        except Exception as why:  # noqa: BLE001  whatever it is, the app itself is ready
            say(f"  The demo farm could not be loaded ({why}). The app starts empty.")
    connection.close()


def _serve_on_farm_network(choices: Choices) -> int:
    """The accounts app knows certificates and the trust page; it is handed the way to serve."""
    lan = _optional("tubertrack.apps.accounts.lan", "serve")
    if lan is None:
        raise Stop("This version cannot serve the farm's network yet. Start without --lan.")
    unusable = _optional("tubertrack.apps.accounts.lan", "Unusable")
    try:
        lan(port=choices.port, opens_browser=choices.opens_browser, say=say, run=serve)
    except unusable as why:
        raise Stop(str(why)) from why
    return 0


def _optional(module: str, name: str) -> Any:
    try:
        found = importlib.util.find_spec(module)
    except ModuleNotFoundError:
        return None
    return getattr(importlib.import_module(module), name, None) if found else None


def _open_when_it_answers(base_url: str, link: str) -> None:
    def wait_and_open() -> None:
        deadline = time.monotonic() + 30
        while time.monotonic() < deadline:
            with contextlib.suppress(OSError):
                urllib.request.urlopen(f"{base_url}/robots.txt", timeout=2).close()
                webbrowser.open(link)
                return
            time.sleep(0.2)

    threading.Thread(target=wait_and_open, daemon=True).start()
