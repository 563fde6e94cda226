"""The browser is killed right after, and right before, the app says that something is saved."""

import os
import re
import signal
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Error, expect

from tests.browser.rig import PHONE, Phone
from tests.browser.stocking import CELLAR


@pytest.fixture
def reopened(
    browser_type, browser_type_launch_args, tmp_path, address, watcher, shots
) -> Callable[[], Phone]:
    """The same phone, its browser started anew."""
    contexts: list[BrowserContext] = []

    def start() -> Phone:
        context = browser_type.launch_persistent_context(
            tmp_path / "store",
            **browser_type_launch_args,
            viewport=PHONE,
            has_touch=True,
            is_mobile=True,
            permissions=["camera"],
            locale="en-US",
        )
        context.set_default_timeout(10_000)
        contexts.append(context)
        watcher.watch(context)
        return Phone(context, address, shots)

    yield start
    for context in contexts[-1:]:
        context.close()


def kill(phone: Phone, store: Path) -> None:
    """No farewell: the browser's own process gets SIGKILL, as from a flat battery."""
    for process in Path("/proc").iterdir():
        if process.name.isdigit() and _is_browser_of(process, store):
            os.kill(int(process.name), signal.SIGKILL)


def _is_browser_of(process: Path, store: Path) -> bool:
    try:
        told = (process / "cmdline").read_bytes().decode()
    except OSError:
        return False
    return f"--user-data-dir={store}" in told and "--type=" not in told


def begin_check(phone, start_link):
    phone.enter(start_link())
    phone.offline()
    phone.open_crate("12", CELLAR)
    phone.went_through_all(rotten=2)


def test_what_was_said_to_be_saved_is_there(store, reopened, start_link, tmp_path, address):
    store.crate("12", 10)
    phone = reopened()
    begin_check(phone, start_link)
    phone.tap("Save: 8 good, 2 rot")
    phone.said(re.compile("^Saved on this phone"))
    kill(phone, tmp_path / "store")

    phone = reopened()
    phone.offline()
    phone.go("/scan/list")
    phone.unsent(1)
    expect(phone.page.get_by_role("list", name=CELLAR)).to_contain_text("8 tubers")
    phone.shot("1-after-the-kill")


def test_what_was_not_yet_said_to_be_saved_is_saved_or_still_in_the_drawer(
    store, reopened, start_link, tmp_path
):
    store.crate("12", 10)
    phone = reopened()
    begin_check(phone, start_link)
    phone.tap("Save: 8 good, 2 rot")
    kill(phone, tmp_path / "store")  # nobody waits for what it says

    phone = reopened()
    phone.offline()
    phone.go("/scan/list")
    saved = phone.page.get_by_role("list", name=CELLAR).get_by_text(re.compile("^8 tubers"))
    expect(saved.or_(phone.find("Save: 8 good, 2 rot")).first).to_be_visible()
    phone.shot("1-after-the-kill")


def test_a_page_that_crashed_opens_with_all_that_was_saved(store, ana):
    store.crate("12", 10)
    ana.fetch_news()
    ana.offline()
    ana.open_crate("12", CELLAR)
    ana.went_through_all(rotten=2)
    ana.tap("Save: 8 good, 2 rot")
    ana.said(re.compile("^Saved on this phone"))
    with ana.page.expect_event("crash"), suppress(Error):
        ana.page.goto("chrome://crash")

    ana.new_page()
    ana.go("/scan/list")
    ana.unsent(1)
    expect(ana.page.get_by_role("list", name=CELLAR)).to_contain_text("8 tubers")
