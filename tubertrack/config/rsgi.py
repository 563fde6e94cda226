"""What granian loads: Django behind a porter that no slow visitor can hold up.

As a WSGI server granian gives each request a thread, which blocks while the visitor's bytes trickle
in or out. Four phones that walk behind a cellar wall in the middle of a push, or one ill-meaning
program without a token, then stop the farm for everybody. Here the body is awaited without a thread
and within a time that grows with what has come; Django gets it whole; the answer is handed over in
one piece, which granian sends by itself. Whoever has left before their turn is not worked for.
"""

from __future__ import annotations

import asyncio
import atexit
import io
import json
import os
import sys
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

from tubertrack.config.headers import ALWAYS

Environ = dict[str, Any]
WsgiApp = Callable[[Environ, Callable[..., Any]], Iterable[bytes]]


@dataclass(frozen=True)
class Patience:
    """How long a body may take, and how many may be on their way at once.

    Apache's mod_reqtimeout waits 20 s and one more for each 500 bytes; 4096 fit 1 MiB from a phone
    at the edge of a network and hold no place for an hour.
    """

    most_bytes: int
    first_s: float = 20.0
    bytes_per_s: float = 4096.0
    places: int = 48
    places_of_one_address: int = 12
    threads: int = 4
    """Django's: more would only wait for the one writer of a farm's log."""


@dataclass
class Answer:
    """What Django said."""

    status: int
    headers: list[tuple[str, str]]
    body: bytes


class Refused(Exception):
    """Not asked of Django at all."""

    def __init__(self, answer: Answer) -> None:
        self.answer = answer


def _refusal(status: int, code: str, message: str, *more: tuple[str, str]) -> Refused:
    body = json.dumps({"code": code, "message": message}).encode()
    headers = [
        ("Content-Type", "application/json"),
        ("Content-Length", str(len(body))),
        ("Connection", "close"),
        *more,
        *ALWAYS.items(),
    ]
    return Refused(Answer(status, headers, body))


class Porter:
    """An RSGI application: takes requests in, has them answered by a WSGI one."""

    def __init__(self, django: WsgiApp, patience: Patience, *, by_address: bool) -> None:
        self.django, self.patience, self.by_address = django, patience, by_address
        self.threads = ThreadPoolExecutor(patience.threads, thread_name_prefix="request")
        self.on_their_way: dict[str, int] = {}

    async def __rsgi__(self, scope: Any, protocol: Any) -> None:
        try:
            answer = await self._answer(scope, protocol)
        except Refused as refused:
            answer = refused.answer
        if answer is not None:
            protocol.response_bytes(answer.status, answer.headers, answer.body)

    async def _answer(self, scope: Any, protocol: Any) -> Answer | None:
        length = self._length(scope)
        if not length:
            return await self._asked(scope, protocol, b"")
        address = scope.client.rpartition(":")[0] if self.by_address else ""
        mine = self.on_their_way.get(address, 0)
        most = self.patience.places_of_one_address if self.by_address else self.patience.places
        if mine >= most or sum(self.on_their_way.values()) >= self.patience.places:
            raise _refusal(503, "busy", _BUSY, ("Retry-After", "10"))
        self.on_their_way[address] = mine + 1
        try:
            body = await read_within(protocol, length, self.patience)
            return await self._asked(scope, protocol, body)
        finally:
            self.on_their_way[address] -= 1
            if not self.on_their_way[address]:
                del self.on_their_way[address]

    def _length(self, scope: Any) -> int:
        """Bytes to wait for; 0 when there are none, or so many or so unclear that Django refuses."""
        told = scope.headers.get("content-length") or ""
        if not (told.isascii() and told.isdigit() and len(told) <= 12):
            return 0
        return int(told) if int(told) <= self.patience.most_bytes else 0

    async def _asked(self, scope: Any, protocol: Any, body: bytes) -> Answer | None:
        """Django's answer; None when the visitor left before a thread was free."""
        environ = environ_of(scope, body)
        work = self.threads.submit(_run, self.django, environ)
        answered = asyncio.wrap_future(work)
        left = asyncio.ensure_future(protocol.client_disconnect())
        try:
            await asyncio.wait({answered, left}, return_when=asyncio.FIRST_COMPLETED)
            if not answered.done() and work.cancel():
                return None
            return await answered
        finally:
            left.cancel()


async def read_within(protocol: Any, length: int, patience: Patience) -> bytes:
    """Exactly `length` bytes. Errors: Refused, when they come too slowly or end too soon."""
    pieces: list[bytes] = []
    received = 0
    loop = asyncio.get_running_loop()
    started = loop.time()
    stream = protocol.__aiter__()
    while received < length:
        ends_at = started + patience.first_s + received / patience.bytes_per_s
        try:
            piece = await asyncio.wait_for(anext(stream), max(0.0, ends_at - loop.time()))
        except TimeoutError:
            raise _refusal(408, "too_slow", _TOO_SLOW) from None
        except StopAsyncIteration:
            piece = b""
        if not piece:
            raise _refusal(400, "torn", _TORN)
        pieces.append(piece)
        received += len(piece)
    return b"".join(pieces)[:length]


def environ_of(scope: Any, body: bytes) -> Environ:
    """The request as WSGI has it. Source: PEP 3333, “environ Variables”."""
    host, _, port = scope.server.rpartition(":")
    environ: Environ = {
        "REQUEST_METHOD": scope.method,
        "SCRIPT_NAME": "",
        "PATH_INFO": scope.path.encode("utf-8", "surrogatepass").decode("latin-1"),
        "QUERY_STRING": scope.query_string,
        "SERVER_NAME": host,
        "SERVER_PORT": port,
        "SERVER_PROTOCOL": f"HTTP/{scope.http_version}",
        "REMOTE_ADDR": scope.client.rpartition(":")[0].strip("[]"),
        "wsgi.version": (1, 0),
        "wsgi.url_scheme": scope.scheme,
        "wsgi.input": io.BytesIO(body),
        "wsgi.errors": sys.stderr,
        "wsgi.multithread": True,
        "wsgi.multiprocess": False,
        "wsgi.run_once": False,
    }
    if scope.authority:  # HTTP/2 has no Host
        environ["HTTP_HOST"] = scope.authority
    for name, value in scope.headers.items():
        # A name with an underscore would pass for one with a hyphen, such as X-Forwarded-Proto.
        if "_" in name:
            continue
        key = name.upper().replace("-", "_")
        if key not in {"CONTENT_TYPE", "CONTENT_LENGTH"}:
            key = f"HTTP_{key}"
        joined = "; " if key == "HTTP_COOKIE" else ","
        environ[key] = f"{environ[key]}{joined}{value}" if key in environ else value
    return environ


def _run(django: WsgiApp, environ: Environ) -> Answer:
    answer = Answer(500, [], b"")

    def start(status: str, headers: list[tuple[str, str]], exc_info: Any = None) -> None:
        answer.status = int(status.split(" ", 1)[0])
        answer.headers = headers

    chunks = django(environ, start)
    try:
        answer.body = b"".join(chunks)
    finally:
        close = getattr(chunks, "close", None)
        if close is not None:
            close()
    return answer


_TOO_SLOW = "This request did not arrive in time. Nothing was stored; send it again."
_TORN = "This request ended half way. Nothing was stored; send it again."
_BUSY = "Too many requests are on their way at once. Nothing was stored; try again in a moment."


def application_for_granian() -> Porter:
    """Django with its settings, once for each worker process."""
    from django.conf import settings

    from tubertrack.config.wsgi import application

    # What a worker does at its end anyway where it is a copy of its parent: the interpreter's own
    # end would meet granian's threads, which panic then.
    atexit.register(os._exit, 0)
    return Porter(
        application,
        Patience(most_bytes=settings.DATA_UPLOAD_MAX_MEMORY_SIZE),
        by_address=not settings.WAY_IN.proxies,  # behind one they would all have the proxy's
    )
