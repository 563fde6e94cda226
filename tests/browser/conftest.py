"""The rig of the browser tests: the app as it is built, served by the real application."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser

from tests.browser.camera import FakeCamera
from tests.browser.rig import DESK, PHONE, Api, Phone, Shots, Watcher
from tests.browser.site import Site, served
from tests.browser.stocking import Store


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--shots", default="", help="folder for the pictures of the journeys")


@pytest.fixture(scope="session")
def camera(tmp_path_factory: pytest.TempPathFactory) -> FakeCamera:
    return FakeCamera(tmp_path_factory.mktemp("camera") / "camera.y4m")


@pytest.fixture(scope="session")
def browser_type_launch_args(
    browser_type_launch_args: dict[str, Any], camera: FakeCamera
) -> dict[str, Any]:
    args = [*browser_type_launch_args.get("args", []), *camera.launch_args]
    return {**browser_type_launch_args, "args": args}


@pytest.fixture
def site(tmp_path: Path, settings: Any) -> Site:
    site = Site(tmp_path / "spa")
    settings.SPA_DIR = settings.WHITENOISE_ROOT = site.folder
    settings.WHITENOISE_AUTOREFRESH = True  # files change while it runs
    return site


@pytest.fixture
def address(site: Site, transactional_db: None) -> Iterator[str]:
    with served(site.gate) as address:
        yield address


@pytest.fixture
def watcher(address: str) -> Iterator[Watcher]:
    watcher = Watcher(address)
    yield watcher
    assert [] == watcher.verdict()


@pytest.fixture
def shots(request: pytest.FixtureRequest, tmp_path: Path) -> Shots:
    told = request.config.getoption("--shots", default="") or os.environ.get("TUBERTRACK_SHOTS")
    folder = Path(told) if told else tmp_path / "shots"
    return Shots(folder / request.node.name.removeprefix("test_"))


@pytest.fixture
def farm(address: str) -> Any:
    """An empty farm with its owner Ana, and Ben who helps."""
    from tubertrack.apps.accounts.models import Member
    from tubertrack.apps.accounts.services import create_farm

    farm = create_farm(name="Tarrowby", time_zone="UTC", owner_name="Ana")
    Member.objects.create(farm=farm, name="Ben", role=Member.Role.HELPER)
    return farm


@pytest.fixture
def store(farm: Any) -> Store:
    """Puts crates into the farm's store."""
    return Store(farm)


@pytest.fixture
def new_phone(
    browser: Browser, address: str, watcher: Watcher, shots: Shots
) -> Iterator[Callable[..., Phone]]:
    """Makes phones, each with a store of its own; desk=True stands on a table with a mouse."""
    contexts = []

    def make(*, desk: bool = False, **options: Any) -> Phone:
        size: dict[str, Any] = (
            {"viewport": DESK}
            if desk
            else {"viewport": PHONE, "has_touch": True, "is_mobile": True}
        )
        context = browser.new_context(
            **{**size, "permissions": ["camera"], "locale": "en-US", **options}
        )
        context.set_default_timeout(10_000)
        contexts.append(context)
        watcher.watch(context)
        return Phone(context, address, shots, touch=not desk)

    yield make
    for number, context in enumerate(contexts, start=1):
        for page in context.pages:
            shots.take(page, f"last-of-phone-{number}")
        context.close()


@pytest.fixture
def start_link(farm: Any, address: str) -> Callable[[], str]:
    from django.utils import timezone

    from tubertrack.apps.accounts.services import mint_start_link

    return lambda: mint_start_link(address, now=timezone.now(), farm=farm)


@pytest.fixture
def ana(new_phone: Callable[..., Phone], start_link: Callable[[], str]) -> Phone:
    """The owner's phone, signed in."""
    phone = new_phone()
    phone.enter(start_link())
    return phone


@pytest.fixture
def api(farm: Any, address: str) -> Api:
    """The API for a script of the owner's."""
    from tubertrack.apps.accounts.services import enrol_device

    owner = farm.members.get(role="owner")
    return Api(address, enrol_device(owner, name="Script", sort="script").token)


@pytest.fixture
def pairing_code(farm: Any, api: Api) -> Callable[[str], str]:
    """Six digits for a member, made by the owner."""

    def make(name: str) -> str:
        member = farm.members.get(name=name)
        return str(api.post("/api/pairing/", {"member": str(member.pk)})["code"])

    return make


@pytest.fixture
def ben(new_phone: Callable[..., Phone], pairing_code: Callable[[str], str]) -> Phone:
    """A helper's phone, let in by six digits."""
    phone = new_phone()
    phone.pair(pairing_code("Ben"))
    return phone
