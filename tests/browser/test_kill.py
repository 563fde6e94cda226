"""The browser is killed right after, right before, and at each step of a save on its way to the disk."""

import json
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


STEPS = """
  let left = Infinity;
  const step = () => {
    left -= 1;
    if (left !== 0) return;
    console.log("the step is reached");
    for (;;); // nothing happens any more until the browser is killed
  };
  const watch = (prototype, names) => {
    for (const name of names) {
      const own = prototype[name];
      prototype[name] = function (...told) {
        step();
        const made = own.apply(this, told);
        // First in line: the app has not yet heard of it when the step is counted.
        for (const event of ["success", "complete"]) made?.addEventListener?.(event, step);
        return made;
      };
    }
  };
  const calls = ["get", "getAll", "count", "openCursor"];
  watch(IDBObjectStore.prototype, [...calls, "getAllKeys", "put", "add", "delete"]);
  watch(IDBIndex.prototype, calls);
  watch(IDBDatabase.prototype, ["transaction"]);
  window.__endAtStep = (number) => {
    left = number;
    new MutationObserver(() => {
      if (/^Saved on this phone/m.test(document.body.innerText)) console.log("shown as saved");
    }).observe(document.body, { childList: true, subtree: true, characterData: true });
  };
"""
"""Counts the calls of the database and its answers from __endAtStep on, and stops for good at one."""

KEPT = """async (farm) => {
  const open = indexedDB.open(`winter-tally-${farm}`);
  const db = await new Promise((yes, no) => { open.onsuccess = () => yes(open.result); open.onerror = no; });
  const rows = db.transaction("records").objectStore("records").getAll();
  await new Promise((yes, no) => { rows.onsuccess = yes; rows.onerror = no; });
  db.close();
  return rows.result.map((row) => row.raw);
}"""


def counted(phone, farm):
    """How many tubers each recount on this phone says, and each look that came with one."""
    entries = [json.loads(raw) for raw in phone.page.evaluate(KEPT, str(farm.pk))]
    entries.sort(key=lambda one: one["device_seq"])
    counts = [one["body"]["count"] for one in entries if one["kind"] == "counted"]
    looks = [one["body"]["lines"][0]["seen"] for one in entries if one["kind"] == "checked"]
    return counts, looks


def recount(phone, tubers):
    """The open drawer says so many; saving it makes two entries that belong together."""
    phone.tap(re.compile("count again$"))
    for digit in str(tubers):
        phone.tap(digit, within=phone.drawer)
    phone.tap("Done")


def save_and_die_at(phone, step, store):
    """Whether the app had shown it as saved when the browser was killed."""
    said = []
    phone.page.on("console", lambda message: said.append(message.text))
    with phone.page.expect_console_message(lambda message: "is reached" in message.text):
        # Not by a finger: its end would be waited for, and never come.
        phone.page.evaluate(
            """(step) => {
              const save = document.querySelector("[role=dialog] .foot button");
              setTimeout(() => { window.__endAtStep(step); save.click(); });
            }""",
            step,
        )
    kill(phone, store)
    return "shown as saved" in said


def reopened_list(phone):
    phone.page.add_init_script(STEPS)
    phone.offline()
    phone.go("/scan/list")
    expect(phone.strip).to_be_visible()


def test_killed_at_each_step_of_a_save(store, reopened, start_link, farm, tmp_path):
    """What was shown as saved is there, the rest too or still in the form; never half of it."""
    store.crate("12", 900)
    tubers, saved, step, kills, shown = 800, [], 1, 0, False
    phone = reopened()
    phone.enter(start_link())
    reopened_list(phone)
    while not shown:
        if phone.drawer.count() == 0:
            crates = phone.page.get_by_role("list", name=CELLAR)
            phone.tap(re.compile(r"^Crate 12\b"), within=crates)
            recount(phone, tubers)
        expect(phone.drawer.locator(".foot")).to_contain_text(f"{tubers} counted")
        shown = save_and_die_at(phone, step, tmp_path / "store")
        kills += 1

        phone = reopened()
        reopened_list(phone)
        counts, looks = counted(phone, farm)
        assert counts == looks, f"half of it is there after step {step}"
        if counts == [*saved, tubers]:
            saved = counts
            tubers -= 1
        else:
            assert counts == saved
            assert not shown, f"shown as saved and gone after step {step}"
            expect(phone.drawer).to_be_visible()
        phone.unsent(2 * len(saved))
        step += 5 if saved else 1  # once it is on the disk only the telling is left
    print(f"{kills} kills in a save of {step} steps, {len(saved)} when it was kept already")
    assert kills - len(saved) > 10
    assert len(saved) > 3


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
