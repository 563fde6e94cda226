"""What the journeys are told with: phones that are touched and taken offline, and the farm's API.

Names are the visible ones. A finger stays on the glass for 100 ms, since the app refuses shorter
touches as drops of water; it presses what is in view and on top, as a person would.
"""

from __future__ import annotations

import json
import re
import time
import urllib.error
import urllib.request
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, CDPSession, Locator, Page, expect

from tests.browser.build_worker import in_charge

PHONE = {"width": 360, "height": 740}
DESK = {"width": 1280, "height": 800}
HELD_S = 0.1
"""How long a finger stays, by the time stamps of its events; nothing waits for it."""
APART_S = 0.45
"""The app takes a second press of Save within 0.4 s for a drop of water; a hand is slower."""
_NO_NETWORK = re.compile(r"net::ERR_INTERNET_DISCONNECTED|net::ERR_FAILED|Failed to fetch")
_DRAWER_STEPPED_BACK = """
  () => new Promise((yes, no) => {
    const settled = () => { if (!history.state?.drawer) yes(); };
    addEventListener("popstate", settled);
    setTimeout(() => no(new Error("the closed drawer's step back in history never came")), 10_000);
    settled();
  })
"""
_COUNT_TOUCHES = """
  window.__touches = 0;
  addEventListener("pointerdown", (event) => {
    if (event.pointerType === "touch") window.__touches += 1;
  }, true);
"""


@dataclass
class Watcher:
    """Sees every page of a test: broken policy, errors, and requests to another host."""

    address: str
    wrong: list[str] = field(default_factory=list)
    expected: list[str] = field(default_factory=list)

    def expect(self, pattern: str) -> None:
        """Errors in the console that fit are meant."""
        self.expected.append(pattern)

    def watch(self, context: BrowserContext) -> None:
        def said(message: Any) -> None:
            is_policy = "Content Security Policy" in message.text
            if message.type != "error" and not is_policy:
                return
            if not is_policy and _NO_NETWORK.search(message.text):
                return  # the browser's own line for a request without a network
            self.wrong.append(f"console: {message.text} ({message.location.get('url')})")

        def asked(request: Any) -> None:
            if not request.url.startswith((self.address, "blob:", "data:")):
                self.wrong.append(f"another host was asked: {request.url}")

        context.on("console", said)
        context.on("request", asked)
        context.on("weberror", lambda error: self.wrong.append(f"page: {error.error}"))

    def verdict(self) -> list[str]:
        return [
            line
            for line in self.wrong
            if not any(re.search(pattern, line) for pattern in self.expected)
        ]


class Shots:
    """Pictures of key moments, for people to look at."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        folder.mkdir(parents=True, exist_ok=True)

    def take(self, page: Page, name: str, *, whole: bool = False) -> None:
        page.screenshot(path=self.folder / f"{name}.png", full_page=whole)


class Phone:
    """A browser with its own store, held in a hand or standing on a desk."""

    def __init__(
        self, context: BrowserContext, address: str, shots: Shots, *, touch: bool = True
    ) -> None:
        self.context, self.address, self.shots, self.touch = context, address, shots, touch
        self.page: Page = context.new_page()
        self._finger: CDPSession | None = None
        self._last_touch = 0.0
        context.add_init_script(_COUNT_TOUCHES)

    # ---- going about

    def go(self, path: str) -> None:
        """Another page, as from the address line, once a drawer that was just closed is gone."""
        self.drawer_is_gone()
        self.page.goto(self.address + path)

    def drawer_is_gone(self) -> None:
        """Closed, and its step back in history taken: it would lead a page loaded since astray."""
        expect(self.drawer).to_have_count(0)
        self.page.evaluate(_DRAWER_STEPPED_BACK)

    def follow(self, path: str) -> None:
        """Goes to another screen as a link does, without loading the app again."""
        self.page.evaluate(
            """(path) => {
              const link = document.createElement("a");
              link.href = path;
              document.body.append(link);
              link.click();
              link.remove();
            }""",
            path,
        )
        self.page.wait_for_url(re.compile(re.escape(path) + r"(\?|$)"))

    def enter(self, start_link: str) -> None:
        """The owner signs in by the link that the server printed."""
        self.page.goto(start_link)
        self.is_in()

    def pair(self, digits: str) -> None:
        """Signs in with the code that the owner reads out."""
        self.go("/")
        self.page.get_by_label("Enter the 6-digit code").fill(digits)
        self.tap("Sign in")
        self.is_in()

    def is_in(self) -> None:
        """Inside the farm, and everything is kept for a time without a network."""
        expect(self.strip).to_be_visible()
        in_charge(self.page)

    def has_all(self) -> None:
        """The first copying is over: everything of the farm is on this phone."""
        self.follow("/phone")
        self.sees(re.compile("^Everything on this phone is safe .* Last sent "))

    def fetch_news(self) -> None:
        """Sends and fetches now, from the Phone page."""
        self.follow("/phone")
        with self.page.expect_response(re.compile("/sync/v1/pull")):
            self.tap("Send now")
        expect(self.find("Send now")).not_to_have_attribute("aria-busy", "true")

    @property
    def strip(self) -> Locator:
        return self.page.get_by_role("link", name=re.compile("Open the Phone page"))

    def unsent(self, count: int) -> None:
        """The strip says how many entries are only on this phone."""
        words = "all safe" if count == 0 else f"{count} only on this phone"
        # A first try right after the network came back may be lost; the next is a second or two later.
        expect(self.strip).to_have_accessible_name(re.compile(rf"\b{words}\b"), timeout=15_000)

    def offline(self) -> None:
        self.context.set_offline(offline=True)

    def online(self) -> None:
        self.context.set_offline(offline=False)

    def reload(self) -> None:
        self.drawer_is_gone()
        self.page.reload()
        expect(self.strip).to_be_visible()

    def new_page(self) -> None:
        """The app opened once more, after its page went."""
        gone, self.page = self.page, self.context.new_page()
        gone.close()
        self._finger = None

    # ---- the hand

    def find(self, name: str | re.Pattern[str], *, within: Locator | None = None) -> Locator:
        """What can be pressed and is called so."""
        root = within or self.page
        exact = isinstance(name, str)
        button = root.get_by_role("button", name=name, exact=exact)
        link = root.get_by_role("link", name=name, exact=exact)
        summary = root.locator("summary").filter(
            has_text=re.compile(f"^{re.escape(name)}$") if isinstance(name, str) else name
        )
        return button.or_(link).or_(summary)

    def tap(self, what: str | re.Pattern[str] | Locator, *, within: Locator | None = None) -> None:
        target = what if isinstance(what, Locator) else self.find(what, within=within)
        if not self.touch:
            target.click()
            return
        target.click(trial=True)  # in view, still, and nothing lies over it
        box = target.bounding_box()
        assert box
        if self._finger is None:
            self._finger = self.context.new_cdp_session(self.page)
        point = {"x": box["x"] + box["width"] / 2, "y": box["y"] + box["height"] / 2}
        self._last_touch = now = max(time.time(), self._last_touch + APART_S)
        self._touch("touchStart", [point], now - HELD_S)
        self._touch("touchEnd", [], now)

    def _touch(self, sort: str, points: list[dict[str, float]], at_s: float) -> None:
        assert self._finger
        self._finger.send(
            "Input.dispatchTouchEvent", {"type": sort, "touchPoints": points, "timestamp": at_s}
        )

    def tap_each(self, *names: str | re.Pattern[str]) -> None:
        for name in names:
            self.tap(name)

    def fill(self, label: str | re.Pattern[str], words: str) -> None:
        exact = isinstance(label, str)
        self.page.get_by_role("textbox", name=label, exact=exact).fill(words)

    def choose(self, label: str | re.Pattern[str], words: str) -> None:
        """Picks from a list by typing; words that are not in it are added."""
        exact = isinstance(label, str)
        box = self.page.get_by_role("combobox", name=label, exact=exact)
        box.fill(words)
        options = self.page.get_by_role("listbox", name=label, exact=exact).get_by_role("option")
        known = options.filter(has_text=re.compile(rf"^{re.escape(words)}", re.IGNORECASE))
        self.tap(known.or_(options.filter(has_text=re.compile(r"^\s*\+"))).first)

    def open_crate(self, number: str, place: str) -> None:
        """The check of a crate, from the list of its place."""
        self.go("/scan/list")
        self.tap(
            re.compile(f"^Crate {number}\\b"), within=self.page.get_by_role("list", name=place)
        )
        expect(self.drawer).to_contain_text(f"Crate {number}")

    def went_through_all(self, *, rotten: int) -> None:
        """Fills the open check in; the big button then says what it will write down."""
        self.tap("All")
        for _ in range(rotten):
            self.tap(re.compile("^Rot"))

    def touches(self) -> int:
        return int(self.page.evaluate("() => window.__touches"))

    def from_here(self) -> None:
        """Touches are counted from nothing."""
        self.page.evaluate("() => { window.__touches = 0; }")

    # ---- what is seen

    def said(self, words: str | re.Pattern[str]) -> None:
        """The line at the bottom says so."""
        expect(self.page.locator("p.words").filter(has_text=words)).to_be_visible()

    def sees(self, words: str | re.Pattern[str]) -> None:
        expect(self.page.get_by_text(words).first).to_be_visible()

    @property
    def drawer(self) -> Locator:
        return self.page.get_by_role("dialog")

    def shot(self, name: str, *, whole: bool = False) -> None:
        self.shots.take(self.page, name, whole=whole)


@dataclass
class Refused(Exception):
    status: int
    body: dict[str, Any]


@dataclass
class Api:
    """The farm's API as a script uses it, over the wire, with a token of its own."""

    address: str
    token: str = ""

    def get(self, path: str, **params: str | int) -> Any:
        query = "&".join(f"{name}={value}" for name, value in params.items())
        return self._ask("GET", f"{path}?{query}" if query else path, None)

    def post(self, path: str, told: object) -> Any:
        return self._ask("POST", path, json.dumps(told).encode())

    def post_raw(self, path: str, body: bytes) -> Any:
        return self._ask("POST", path, body)

    def rows(self, path: str, **params: str | int) -> list[dict[str, Any]]:
        return list(self.get(f"/api/{path}/", page_size=500, **params)["results"])

    def _ask(self, method: str, path: str, body: bytes | None) -> Any:
        request = urllib.request.Request(self.address + path, data=body, method=method)
        request.add_header("Content-Type", "application/json")
        request.add_header("Accept", "application/json")
        if self.token:
            request.add_header("Authorization", f"Bearer {self.token}")
        try:
            with urllib.request.urlopen(request) as answer:
                return json.loads(answer.read())
        except urllib.error.HTTPError as refused:
            raise Refused(refused.code, json.loads(refused.read())) from None
