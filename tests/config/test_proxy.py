"""The server under a public name: behind nginx with the example file that is handed out, unchanged.

Sources: nginx's documentation of its directives, RFC 6797 (HSTS), RFC 6265 (cookies), Django's
documentation of SECURE_PROXY_SSL_HEADER and of Origin checks.
"""

from __future__ import annotations

import gzip
import http.client
import json
import os
import re
import socket
import ssl
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.test import Client
from rest_framework.test import APIRequestFactory

from tubertrack.apps.accounts.whereabouts import place_of
from tubertrack.config.setup.system_packages import nginx
from tubertrack.config.start import free_port
from tubertrack.config.visitors import way_in

ROOT = Path(__file__).resolve().parents[2]
EXAMPLE = ROOT / "tubertrack" / "config" / "proxy" / "nginx.conf.example"
NAME = "farm.example"
MIB = 1024 * 1024

needs_nginx = pytest.mark.skipif(
    nginx() is None, reason="no nginx (Debian: apt install nginx-light)"
)


@dataclass
class Answer:
    status: int
    headers: list[tuple[str, str]]
    body: bytes

    def all(self, name: str) -> list[str]:
        return [value for one, value in self.headers if one.lower() == name.lower()]

    def one(self, name: str) -> str:
        [value] = self.all(name)  # twice is a fault as well
        return value

    def json(self) -> Any:
        return json.loads(self.body)


class PublicFarm:
    """The server, nginx before it, and a visitor somewhere on the internet."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.inner, self.plain, self.secure = free_port(8500), free_port(8600), free_port(8700)
        self.origin = f"https://{NAME}:{self.secure}"
        self.cookies: dict[str, str] = {}
        self._make_certificate()
        self.trusting = ssl.create_default_context(cafile=str(folder / "site.pem"))
        self.server = self._start_server()
        self.nginx = self._start_nginx()

    def _make_certificate(self) -> None:
        words = "req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -days 2"
        subject = ["-subj", f"/CN={NAME}", "-addext", f"subjectAltName=DNS:{NAME}"]
        files = ["-keyout", str(self.folder / "key.pem"), "-out", str(self.folder / "site.pem")]
        subprocess.run(
            ["openssl", *words.split(), *subject, *files], check=True, capture_output=True
        )

    def _start_server(self) -> subprocess.Popen[str]:
        environment = {
            **{name: told for name, told in os.environ.items() if name != "DJANGO_SETTINGS_MODULE"},
            "TUBERTRACK_DATA": str(self.folder / "data"),
            "TUBERTRACK_NO_BOOTSTRAP": "1",
            "TUBERTRACK_HTTPS": "1",
            "TUBERTRACK_HOSTS": NAME,
            "PYTHONUNBUFFERED": "1",
        }
        environment.pop("DATABASE_URL", None)
        server = subprocess.Popen(
            [sys.executable, "manage.py", "start", "--empty", "--port", str(self.inner)],
            cwd=ROOT,
            env=environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        assert server.stdout
        self.said = ""
        for line in server.stdout:
            self.said += line
            if line.startswith("Stop it"):
                break
        listens(server, self.inner)
        return server

    def _start_nginx(self) -> subprocess.Popen[bytes]:
        """The example file, with the ports and files of this run in the place of usual ones."""
        site = EXAMPLE.read_text("utf-8")
        for usual, ours in (
            ("listen 80;", f"listen 127.0.0.1:{self.plain};"),
            ("listen 443 ssl http2;", f"listen 127.0.0.1:{self.secure} ssl http2;"),
            (f"/etc/letsencrypt/live/{NAME}/fullchain.pem", f"{self.folder}/site.pem"),
            (f"/etc/letsencrypt/live/{NAME}/privkey.pem", f"{self.folder}/key.pem"),
            ("http://127.0.0.1:8000;", f"http://127.0.0.1:{self.inner};"),
        ):
            assert site.count(usual) == 1, usual
            site = site.replace(usual, ours)
        kept = "\n".join(
            f"{kind}_temp_path {self.folder}/{kind};"
            for kind in ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")
        )
        # Root's workers would be another user, who may not write into the folder of a test.
        user = "user root;\n" if os.name == "posix" and os.geteuid() == 0 else ""
        config = self.folder / "nginx.conf"
        config.write_text(
            f"{user}daemon off; pid {self.folder}/pid; error_log {self.folder}/errors;\n"
            f"events {{}}\nhttp {{ access_log off; {kept}\n{site}\n}}\n"
        )
        program = nginx()
        assert program
        running = subprocess.Popen([program, "-c", str(config), "-p", str(self.folder)])
        listens(running, self.secure)
        return running

    def stop(self) -> None:
        for process in (self.nginx, self.server):
            process.terminate()
            process.wait()

    def ask(self, method: str, path: str, body: bytes | None = None, **headers: str) -> Answer:
        """By HTTPS, as a browser that keeps its cookies; a name with _ stands for one with -."""
        connection = http.client.HTTPSConnection(NAME, self.secure, timeout=60)
        plain = socket.create_connection(("127.0.0.1", self.secure), timeout=60)
        connection.sock = self.trusting.wrap_socket(plain, server_hostname=NAME)
        sent = {name.replace("_", "-"): value for name, value in headers.items()}
        if self.cookies:
            sent["Cookie"] = "; ".join(f"{name}={told}" for name, told in self.cookies.items())
        connection.request(method, path, body, sent)
        answer = read(connection)
        for cookie in answer.all("Set-Cookie"):
            name, _, value = cookie.partition(";")[0].partition("=")
            self.cookies[name] = value
        return answer

    def post(self, path: str, told: Any, **headers: str) -> Answer:
        body = told if isinstance(told, bytes) else json.dumps(told).encode()
        return self.ask("POST", path, body, Content_Type="application/json", **headers)


def read(connection: http.client.HTTPConnection) -> Answer:
    response = connection.getresponse()
    answer = Answer(response.status, response.getheaders(), response.read())
    connection.close()
    return answer


def listens(process: subprocess.Popen[Any], port: int) -> None:
    while True:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=5).close()
        except ConnectionRefusedError:
            assert process.poll() is None, "it ended instead of listening"
        else:
            return


@pytest.fixture(scope="module")
def farm(tmp_path_factory):
    farm = PublicFarm(tmp_path_factory.mktemp("public"))
    yield farm
    farm.stop()


@pytest.fixture(scope="module")
def owner(farm):
    """The owner's browser, let in by the printed link: the token of its device."""
    farm.cookies.clear()
    link = re.search(rf"https://{NAME}(/start/\S+)", farm.said)
    assert link, farm.said
    farm.came_in = farm.ask("GET", link[1])
    session = farm.ask("GET", "/api/session/").json()
    farm.csrf = {"X_CSRFToken": session["csrf"], "Referer": f"{farm.origin}/"}
    farm.told = {"farm": session["farms"][0]["id"], "name": "Desk", "sort": "browser"}
    made = farm.post("/api/devices/", farm.told, Origin=farm.origin, **farm.csrf)
    assert 201 == made.status, made.body
    return made.json()["token"]


@needs_nginx
def test_the_terminal_tells_the_public_address_alone(farm):
    assert f"shows it at https://{NAME}/" in farm.said
    assert "http://127.0.0.1" not in farm.said.partition("Sign in")[2]


@needs_nginx
def test_plain_http_leads_to_https_at_both_doors(farm):
    for port in (farm.plain, farm.inner):
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        connection.request("GET", "/todo?day=1", headers={"Host": NAME})
        answer = read(connection)
        assert answer.status in {301, 308}
        assert f"https://{NAME}/todo?day=1" == answer.one("Location")


@needs_nginx
def test_a_browser_signs_in_with_secure_cookies(farm, owner):
    assert owner
    [session] = [one for one in farm.came_in.all("Set-Cookie") if one.startswith("sessionid=")]
    assert {"Secure", "HttpOnly", "SameSite=Lax"} <= {one.strip() for one in session.split(";")}
    assert farm.ask("GET", "/api/session/").json()["signed_in"]


@needs_nginx
@pytest.mark.parametrize("origin", ["https://evil.example", f"http://{NAME}", f"https://{NAME}:1"])
def test_another_sites_form_is_refused(farm, owner, origin):
    refused = farm.post("/api/devices/", farm.told, Origin=origin, **farm.csrf)
    assert (403, "page_too_old") == (refused.status, refused.json()["code"])


@needs_nginx
def test_the_code_for_a_phone_leads_to_the_public_address_whatever_a_visitor_claims(farm, owner):
    bearer = {"Authorization": f"Bearer {owner}"}
    member = farm.ask("GET", "/api/farm/", **bearer).json()
    asked = {"member": member["member"]["id"]}
    lies = {
        "X_Forwarded_Host": "evil.example",
        "X_Forwarded_Proto": "http",
        "Forwarded": "host=evil.example;proto=http",
    }
    made = farm.post("/api/pairing/", asked, **bearer, **lies)
    assert made.json()["qr"].startswith(f"{farm.origin}/pair/")


@needs_nginx
def test_tries_are_counted_by_the_address_that_nginx_sees(farm):
    seen = {
        farm.post(
            "/api/pair/", {"code": "000000", "device_name": "x"}, X_Forwarded_For=f"10.0.0.{n}"
        ).status
        for n in range(12)
    }
    assert 429 in seen


@needs_nginx
def test_the_promise_of_https_and_every_policy_come_once(farm):
    answer = farm.ask("GET", "/")
    assert "max-age=31536000" == answer.one("Strict-Transport-Security")
    for name in ("Content-Security-Policy", "Permissions-Policy", "X-Content-Type-Options"):
        assert answer.one(name)
    assert "nginx/" not in answer.one("Server")


@needs_nginx
def test_files_come_packed_once_and_stay_as_long_as_they_may(farm):
    page = farm.ask("GET", "/").body.decode()
    path = re.search(r'src="(/assets/[^"]+\.js)"', page)
    assert path
    whole = farm.ask("GET", path[1]).body
    packed = farm.ask("GET", path[1], Accept_Encoding="gzip")
    assert "gzip" == packed.one("Content-Encoding")
    assert whole == gzip.decompress(packed.body)
    assert "immutable" in packed.one("Cache-Control")

    assert "br" == farm.ask("GET", path[1], Accept_Encoding="br, gzip").one("Content-Encoding")
    worker = farm.ask("GET", "/sw.js", Accept_Encoding="gzip")
    assert "no-cache" == worker.one("Cache-Control")
    assert "javascript" in worker.one("Content-Type")
    assert worker.one("ETag") or worker.one("Last-Modified")
    assert "application/manifest+json" == farm.ask("GET", "/manifest.webmanifest").one(
        "Content-Type"
    )


@needs_nginx
def test_the_largest_push_passes_and_more_is_refused_in_the_one_form(farm, owner, settings):
    bearer = {"Authorization": f"Bearer {owner}"}
    # The largest passes both (and is then no push).
    assert 4 * MIB == settings.DATA_UPLOAD_MAX_MEMORY_SIZE
    most = farm.post("/sync/v1/push", b" " * (4 * MIB - 2) + b"{}", **bearer)
    assert (400, True) == (most.status, "code" in most.json()), most
    for size in (4 * MIB + 1, 6 * MIB):
        refused = farm.post("/sync/v1/push", b" " * size, **bearer)
        assert (413, "too_large") == (refused.status, refused.json()["code"])
        assert "application/json" == refused.one("Content-Type")


@needs_nginx
def test_a_phone_can_read_that_the_server_is_away(farm, owner):
    farm.server.terminate()
    farm.server.wait()
    away = farm.ask("GET", "/api/session/")
    assert (503, "server_away") == (away.status, away.json()["code"])
    assert "10" == away.one("Retry-After")


# ---- without a proxy


@pytest.mark.django_db
def test_without_a_proxy_nobodys_claims_are_believed():
    lies = {
        "X-Forwarded-Proto": "https",
        "X-Forwarded-For": "10.9.9.9",
        "X-Forwarded-Host": "evil.example",
        "Forwarded": "for=10.9.9.9;host=evil.example;proto=https",
        "X-Real-IP": "10.9.9.9",
    }
    answer = Client().get("/api/session/", headers=lies)
    request = answer.wsgi_request
    assert (False, "http://testserver/") == (request.is_secure(), request.build_absolute_uri("/"))
    assert "127.0.0.1" == place_of(request)


@pytest.mark.parametrize(
    ("proxies", "claimed", "place"),
    [
        (1, "203.0.113.9", "203.0.113.9"),
        (1, "10.9.9.9, 203.0.113.9", "203.0.113.9"),  # the visitor's own word comes first
        (2, "10.9.9.9, 203.0.113.9, 192.0.2.1", "203.0.113.9"),
    ],
)
def test_so_many_hops_are_believed_as_stand_in_front(settings, proxies, claimed, place):
    from rest_framework.settings import api_settings

    settings.REST_FRAMEWORK = {**settings.REST_FRAMEWORK, "NUM_PROXIES": proxies}
    assert proxies == api_settings.NUM_PROXIES
    request = APIRequestFactory().get("/", headers={"X-Forwarded-For": claimed})
    assert place == place_of(request)


@pytest.mark.parametrize(("way", "told", "proxies"), [("1", "", 1), ("1", "2", 2), ("", "0", 0)])
def test_how_many_proxies_there_are(way, told, proxies):
    assert proxies == way_in(way, told).proxies


@pytest.mark.parametrize(
    ("way", "told"), [("", "1"), ("lan", "1"), ("1", "0"), ("1", "x"), ("1", "²")]
)
def test_proxies_that_cannot_be_are_refused(way, told):
    with pytest.raises(ImproperlyConfigured, match="TUBERTRACK_PROXIES is"):
        way_in(way, told)


def test_a_public_way_without_a_name_is_refused_in_a_sentence(tmp_path):
    environment = {**os.environ, "TUBERTRACK_DATA": str(tmp_path), "TUBERTRACK_HTTPS": "1"}
    for name in ("TUBERTRACK_HOSTS", "DATABASE_URL", "DJANGO_SETTINGS_MODULE"):
        environment.pop(name, None)
    refused = subprocess.run(
        [sys.executable, "manage.py", "start", "--no-browser"],
        cwd=ROOT,
        env={**environment, "TUBERTRACK_NO_BOOTSTRAP": "1"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert 1 == refused.returncode
    assert "TUBERTRACK_HOSTS=farm.example" in refused.stdout + refused.stderr
