"""Visitors whose bytes trickle, stop, or never end do not hold up the others.

The real server in a process of its own, asked through plain sockets.
"""

from __future__ import annotations

import asyncio
import gzip
import json
import os
import select
import socket
import subprocess
import sys
import zlib
from pathlib import Path

import pytest

from tubertrack.config.rsgi import Patience, Porter, Refused, environ_of, read_within

ROOT = Path(__file__).resolve().parents[2]
SERVE = "import sys; from tubertrack.config.start import serve; serve(int(sys.argv[1]))"
WAITS_S = 30
"""When an answer that never comes fails the test."""


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    """Port of the real server on a database of its own."""
    env = {**os.environ, "TUBERTRACK_DATA": str(tmp_path_factory.mktemp("data"))}
    for name in ("DATABASE_URL", "TUBERTRACK_HTTPS", "TUBERTRACK_SECRET_KEY"):
        env.pop(name, None)
    env["TUBERTRACK_NO_BOOTSTRAP"] = "1"
    subprocess.run([sys.executable, "manage.py", "migrate", "-v0"], cwd=ROOT, env=env, check=True)
    port = free_port()
    with subprocess.Popen([sys.executable, "-c", SERVE, str(port)], cwd=ROOT, env=env) as process:
        until_it_listens(port, process)
        yield port
        process.terminate()
        process.wait(WAITS_S)


def until_it_listens(port: int, process: subprocess.Popen) -> None:
    while process.poll() is None:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
        except OSError:
            continue
        return
    pytest.fail("the server ended before it listened")


class Visitor:
    def __init__(self, port: int) -> None:
        self.socket = socket.create_connection(("127.0.0.1", port), timeout=WAITS_S)

    def says(self, *data: bytes) -> Visitor:
        for piece in data:
            self.socket.sendall(piece)
        return self

    def hears(self) -> tuple[int, bytes]:
        """Status and everything up to the end of the answer."""
        heard = b""
        while b"\r\n\r\n" not in heard:
            piece = self.socket.recv(65536)
            assert piece, heard
            heard += piece
        head, _, body = heard.partition(b"\r\n\r\n")
        lengths = [line for line in head.lower().split(b"\r\n") if b"content-length" in line]
        length = int(lengths[0].split(b":")[1])
        while len(body) < length:
            piece = self.socket.recv(65536)
            assert piece, heard
            body += piece
        return int(head.split()[1]), body

    def leaves(self) -> None:
        self.socket.close()


def get(path: str) -> bytes:
    return f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n".encode()


def post(headers: str, path: str = "/api/pair/") -> bytes:
    return (
        f"POST {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\n"
        f"{headers}\r\n\r\n"
    ).encode()


def code_of(answer: tuple[int, bytes]) -> tuple[int, str]:
    return answer[0], json.loads(answer[1])["code"]


def test_forty_halves_of_requests_do_not_keep_a_reader_waiting(server):
    halves = [Visitor(server).says(post("Content-Length: 100"), b"{") for _ in range(40)]
    assert 200 == Visitor(server).says(get("/api/session/")).hears()[0]
    for one in halves:
        one.leaves()


def test_more_halves_than_there_are_places_are_told_to_come_back(server):
    halves = [Visitor(server).says(post("Content-Length: 100"), b"{") for _ in range(13)]
    # Twelve have a place each; which one came last is the server's to say.
    [readable, _, _] = select.select([one.socket for one in halves], [], [], WAITS_S)
    [refused] = [one for one in halves if one.socket in readable]
    assert (503, "busy") == code_of(refused.hears())
    for one in halves:
        one.leaves()


def test_visitors_who_do_not_read_do_not_keep_a_reader_waiting(server):
    largest = max(
        (ROOT / "tubertrack/spa/assets").glob("*.wasm"), key=lambda one: one.stat().st_size
    )
    deaf = []
    for _ in range(8):
        visitor = Visitor(server)
        visitor.socket.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        deaf.append(visitor.says(get(f"/assets/{largest.name}") * 8))
    assert 200 == Visitor(server).says(get("/api/session/")).hears()[0]
    for one in deaf:
        one.leaves()


@pytest.mark.parametrize(
    ("headers", "body", "status", "code"),
    [
        ("Content-Length: 4194305", b"", 413, "too_large"),
        ("Content-Length: 99999999999999999999", b"", 413, "too_large"),
        ("Transfer-Encoding: chunked", b"2\r\n{}\r\n0\r\n\r\n", 411, "length_required"),
        ("Content-Length: 2", b"[]", 400, "bad_input"),
    ],
)
def test_what_is_too_large_or_endless_is_refused_before_it_is_read(
    server, headers, body, status, code
):
    if "9999" in headers:  # no number that HTTP itself knows
        assert 400 == int(Visitor(server).says(post(headers)).socket.recv(100).split()[1])
        return
    assert (status, code) == code_of(Visitor(server).says(post(headers), body).hears())


BOMB = b"[" + b"0," * 4_000_000 + b"0]"


@pytest.mark.parametrize(
    ("name", "packed"),
    [
        ("gzip", gzip.compress(BOMB)),
        ("deflate", zlib.compress(BOMB)),
        ("br", b"\x1b\xff\xff\x3f"),
        ("gzip, gzip", gzip.compress(gzip.compress(BOMB))),
        ("zstd", b"\x28\xb5\x2f\xfd"),
    ],
)
def test_a_packed_body_is_refused_and_never_unpacked(server, name, packed):
    told = post(f"Content-Encoding: {name}\r\nContent-Length: {len(packed)}", "/sync/v1/push")
    assert (415, "unsupported_encoding") == code_of(Visitor(server).says(told, packed).hears())


@pytest.mark.parametrize(
    ("request_", "status"),
    [
        (b"GET / HTTP/1.1\r\nHost: x\r\n" + b"X: y\r\n" * 1000 + b"\r\n", 431),
        (b"GET / HTTP/1.1\r\nHost: x\r\nX: " + b"y" * 600_000 + b"\r\n\r\n", 431),
        (get("/?" + "y" * 70_000), 414),
    ],
)
def test_a_flood_of_headers_is_refused(server, request_, status):
    assert status == Visitor(server).says(request_).hears()[0]


def test_a_strangers_host_name_is_refused_in_words(server):
    told = get("/api/session/").replace(b"127.0.0.1", b"other.example")
    assert (400, "unknown_host") == code_of(Visitor(server).says(told).hears())


class Trickle:
    """A visitor's body as granian hands it over: pieces, then nothing for ever."""

    def __init__(self, *pieces: bytes, ends: bool = False) -> None:
        self.pieces, self.ends = list(pieces), ends

    def __aiter__(self):
        return self

    async def __anext__(self) -> bytes:
        if self.pieces:
            return self.pieces.pop(0)
        if self.ends:
            raise StopAsyncIteration
        await asyncio.Event().wait()
        raise AssertionError


QUICK = Patience(most_bytes=1000, first_s=0.02, bytes_per_s=1e6)


def read(trickle: Trickle, length: int) -> bytes:
    return asyncio.run(read_within(trickle, length, QUICK))


def test_a_body_in_pieces_is_whole():
    assert b"abcdef" == read(Trickle(b"abc", b"d", b"ef"), 6)


@pytest.mark.parametrize(("ends", "status"), [(False, 408), (True, 400)])
def test_half_a_body_is_refused_when_time_is_up_or_the_visitor_leaves(ends, status):
    with pytest.raises(Refused) as refused:
        read(Trickle(b"abc", ends=ends), 6)
    assert status == refused.value.answer.status
    assert b"Nothing was stored" in refused.value.answer.body
    names = {name for name, _ in refused.value.answer.headers}
    assert "Content-Security-Policy" in names


class Scope:
    method, path, query_string = "POST", "/pfl\u00fccke/", "a=%20"
    server, client, scheme, http_version, authority = (
        "[::1]:8000",
        "[::1]:5000",
        "http",
        "1.1",
        None,
    )

    class Headers(list):
        def items(self):
            return iter(self)

        def get(self, name):
            return dict(self).get(name)

    headers = Headers(
        [
            ("host", "localhost"),
            ("cookie", "a=1"),
            ("cookie", "b=2"),
            ("x_forwarded_proto", "https"),
            ("accept", "a/b"),
            ("accept", "c/d"),
            ("content-type", "application/json"),
        ]
    )


def test_a_header_with_an_underscore_does_not_pass_for_the_proxys():
    environ = environ_of(Scope, b"{}")
    assert not [name for name in environ if "FORWARDED" in name]
    assert ("a=1; b=2", "a/b,c/d") == (environ["HTTP_COOKIE"], environ["HTTP_ACCEPT"])
    assert ("::1", "/pfl\u00fccke/") == (
        environ["REMOTE_ADDR"],
        environ["PATH_INFO"].encode("latin-1").decode(),
    )


class Gone:
    """A visitor who has left already."""

    answered = None

    def response_bytes(self, *answer):
        self.answered = answer

    async def client_disconnect(self):
        return None


class Staying(Gone):
    async def client_disconnect(self):
        await asyncio.Event().wait()


def test_nobody_works_for_a_visitor_who_has_left():
    asked = []

    def django(environ, start):
        asked.append(environ["PATH_INFO"])
        start("200 OK", [])
        return [b""]

    async def visits() -> None:
        porter = Porter(django, Patience(most_bytes=10, threads=1), by_address=True)
        at_work, may_end = asyncio.Event(), asyncio.Event()
        loop = asyncio.get_running_loop()

        def busy() -> None:
            loop.call_soon_threadsafe(at_work.set)
            asyncio.run_coroutine_threadsafe(may_end.wait(), loop).result()

        porter.threads.submit(busy)
        await at_work.wait()
        gone, staying = Gone(), Staying()
        await porter.__rsgi__(Scope, gone)
        later = asyncio.ensure_future(porter.__rsgi__(Scope, staying))
        may_end.set()
        await later
        assert gone.answered is None
        assert 200 == staying.answered[0]

    asyncio.run(visits())
    assert 1 == len(asked)
