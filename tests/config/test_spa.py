"""The app's page answers for the app's addresses and for no others."""

from pathlib import Path

import pytest
from django.test import Client
from django.urls import Resolver404, resolve

from tubertrack.config.spa import NOT_BUILT, SERVER_PREFIXES

WORKER = Path("frontend/src/worker/service-worker.ts")


@pytest.mark.parametrize("address", ["/", "/todo", "/stock/crates/12", "/apiary", "/synced"])
def test_the_app_routes_its_own_addresses(address: str) -> None:
    assert "app" == resolve(address).url_name


@pytest.mark.parametrize(
    "address",
    ["/nope.js", "/robots.tx/", "/api", "/api/nothing", "/sync/v9/x", "/blob/abc", "/trust"],
)
def test_a_missing_file_or_server_address_is_never_the_page(address: str) -> None:
    try:
        found = resolve(address).url_name
    except Resolver404:
        found = None
    assert "app" != found


def test_page_is_not_kept_without_asking(client: Client, settings, tmp_path: Path) -> None:
    (tmp_path / "index.html").write_text("<title>app</title>", "utf-8")
    settings.SPA_DIR = tmp_path

    response = client.get("/todo")

    assert 200 == response.status_code
    assert "no-cache" == response["Cache-Control"]
    assert b"<title>app</title>" == b"".join(response.streaming_content)


def test_before_the_first_build_there_is_a_sentence(client, settings, tmp_path: Path) -> None:
    settings.SPA_DIR = tmp_path

    response = client.get("/todo")

    assert (503, NOT_BUILT) == (response.status_code, response.content.decode())


def test_only_reading_is_answered_with_the_page(client: Client) -> None:
    assert 405 == client.post("/todo").status_code


def test_the_worker_passes_the_same_addresses_through(request: pytest.FixtureRequest) -> None:
    source = (request.config.rootpath / WORKER).read_text("utf-8")

    assert f"/^\\/(?:{'|'.join(SERVER_PREFIXES)})(?:\\/|$)/" in source
