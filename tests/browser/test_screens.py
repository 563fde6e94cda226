"""Every screen with the demo farm, at two sizes and in two modes: looked at, and measured."""

from __future__ import annotations

import re
from pathlib import Path
from urllib.parse import quote

import pytest
from playwright.sync_api import expect

SOURCES = Path(__file__).resolve().parents[2] / "frontend" / "src"
LEAST_PX = 48
"""WCAG 2.2, 2.5.5 asks for 44; 48 dp is what Google's accessibility help asks for touch targets."""
CELLAR_PX = 72
"""Common practice, no source: for cold wet hands. What is pressed for each crate has it."""
COLD_HANDS = (".button", ".cause .add", ".as-button")
IN_THE_CELLAR = ("/scan", "/scan/list", "/round", "/round/start", "check")

WORKED = {
    "button", "checkbox", "combobox", "link", "listbox", "menuitem", "option", "radio", "searchbox",
    "slider", "spinbutton", "switch", "tab", "textbox",
}  # fmt: skip
"""Roles of what is pressed or typed into: each needs a name (WCAG 2.2, 4.1.2)."""

TROUBLE = re.compile("no page with this address|could not be opened|is not on this phone")

MEASURE = """() => {
  const seen = (node) => {
    const box = node.getBoundingClientRect();
    return box.width > 1 && box.height > 1 && getComputedStyle(node).visibility === "visible";
  };
  const inSentence = (node) => node.tagName === "A" && getComputedStyle(node).display === "inline"
    && node.parentElement.textContent.trim() !== node.textContent.trim();
  const all = [...document.querySelectorAll(
    "a[href], button, input, select, textarea, summary, [role=option]")];
  return all.filter((node) => seen(node) && !inSentence(node) && !node.classList.contains("skip")
      && !node.classList.contains("hidden-text")).map((node) => {
    const target = node.closest("label") ?? (node.matches(".cause .add") ? node.closest(".cause") : node);
    const { width, height } = target.getBoundingClientRect();
    const words = node.getAttribute("aria-label") || target.textContent.trim() || node.id;
    return {
      words: `${node.tagName.toLowerCase()} “${words.slice(0, 40)}”`,
      size: Math.round(Math.min(width, height) * 10) / 10,
      cold: COLD.some((those) => node.matches(those)),
    };
  });
}"""


def routes() -> list[str]:
    """The paths of all screens, read where they are listed."""
    found: list[str] = []
    for file in sorted(SOURCES.glob("features/*/routes.ts")):
        found += re.findall(r'\bpath: "([^"]+)"', file.read_text("utf-8"))
    assert len(found) > 20
    return found


@pytest.fixture
def farm(address):
    """The demo farm, in place of the empty one."""
    from tubertrack.apps.exchange.demo import load_demo

    return load_demo()


@pytest.fixture
def paths(farm, api):
    """Every path with something of the farm in place of its names."""
    crates = [row for row in api.rows("crates") if row["code"] and row["lots"]]
    [check] = api.get("/api/records/", kind="checked", ordering="-seq", page_size=1)["results"]
    lot = crates[0]["lots"][0]
    things = {
        ":crate": crates[0]["id"],
        ":lot": lot["id"],
        ":variety": lot["variety"],
        ":place": crates[0]["place"],
        ":code": crates[0]["code"],
        ":sha": check["sha256"],
        ":key": quote(api.rows("problems")[0]["id"], safe=""),
        ":table": "varieties",
        ":row": lot["variety"],
        ":member": api.get("/api/members/")[0]["id"],
        ":device": next(row["id"] for row in api.get("/api/devices/") if row["sort"] == "phone"),
        ":buyer": api.post("/api/buyers/", {"name": "Marnie Oxley"})["id"],
    }

    def filled(path: str) -> str:
        return "/".join(things[part] if part.startswith(":") else part for part in path.split("/"))

    all_paths = {path: filled(path) for path in routes() if path != "/pair/:code"}
    return {**all_paths, "/round/start": f"/round?place={things[':place']}"}


def nameless(page) -> list[str]:
    """Roles of the controls that the browser itself finds no accessible name for."""
    session = page.context.new_cdp_session(page)
    nodes = session.send("Accessibility.getFullAXTree")["nodes"]
    session.detach()
    worked = [node for node in nodes if node.get("role", {}).get("value") in WORKED]
    assert worked
    return [
        node["role"]["value"]
        for node in worked
        if not node["ignored"] and not node.get("name", {}).get("value", "").strip()
    ]


def faults_of(phone, path: str, mode: str) -> list[str]:
    """What is wrong with the screen that is open."""
    page = phone.page
    # Not innerWidth: a phone's grows with what does not fit.
    wide = [
        page.evaluate("() => document.documentElement.scrollWidth"),
        page.viewport_size["width"],
    ]
    faults = [f"{path} ({mode}): {wide[0]} px wide"] if wide[0] > wide[1] else []
    faults += [f"{path} ({mode}): a {role} without a name" for role in nameless(page)]
    if not phone.touch:
        return faults
    is_cold = mode == "cellar" and path in IN_THE_CELLAR
    for target in page.evaluate(MEASURE.replace("COLD", str(list(COLD_HANDS)))):
        least = CELLAR_PX if is_cold and target["cold"] else LEAST_PX
        if target["size"] < least:
            faults.append(f"{path} ({mode}): {target['words']} is {target['size']} px")
    return faults


def name_of(path: str, mode: str) -> str:
    return f"{mode}-{path.strip('/').replace('/', '-').replace(':', '')}"


def wrong_with(phone, path: str, mode: str) -> list[str]:
    """Whether the screen shows itself, and not an error or nothing."""
    main = phone.page.get_by_role("main")
    title = main.get_by_role("heading", level=1)
    try:
        expect(title.or_(main.get_by_label("Camera")).first).to_be_visible()
        expect(phone.page.locator("html")).to_have_attribute("data-mode", mode)
        expect(main.get_by_text(TROUBLE)).to_have_count(0)
        expect(main.get_by_text(re.compile("^(Fetching|Asking|Camera opening)"))).to_have_count(0)
    except AssertionError as wrong:
        return [f"{path} ({mode}): {wrong}"]
    return []


def look_at_all(phone, paths, mode: str) -> list[str]:
    faults = []
    phone.go("/phone")
    phone.has_all()  # what is still being fetched moves the buttons
    choice = phone.find({"cellar": "Cellar", "day": "Day"}[mode])
    phone.tap(choice)
    expect(choice).to_have_attribute("aria-pressed", "true")
    expect(phone.page.locator("html")).to_have_attribute("data-mode", mode)
    for path, filled in paths.items():
        phone.follow(filled)
        faults += wrong_with(phone, path, mode)
        faults += faults_of(phone, path, mode)
        phone.shot(name_of(path, mode), whole=True)
    phone.follow("/scan/list")
    phone.tap(phone.page.get_by_role("main").get_by_role("list").first.get_by_role("button").first)
    expect(phone.drawer).to_be_visible()
    faults += faults_of(phone, "check", mode)
    phone.shot(name_of("check", mode))
    phone.tap("Close", within=phone.drawer)
    return faults


@pytest.mark.parametrize("desk", [False, True], ids=["phone", "desk"])
def test_every_screen(new_phone, start_link, paths, desk, camera):
    camera.show_nothing()
    phone = new_phone(desk=desk)
    phone.enter(start_link())

    faults = [*look_at_all(phone, paths, "day"), *look_at_all(phone, paths, "cellar")]
    assert not faults, "\n".join(faults)


def test_every_address_opens_by_itself(new_phone, start_link, paths, camera):
    """As from a link in a message, or after the phone took the app out of memory."""
    camera.show_nothing()
    phone = new_phone()
    phone.enter(start_link())
    phone.has_all()
    phone.offline()
    for path, filled in paths.items():
        phone.page.goto(phone.address + filled)  # also from under the drawer of a label
        expect(phone.strip).to_be_visible()
        main = phone.page.get_by_role("main")
        expect(
            main.get_by_role("heading", level=1).or_(main.get_by_label("Camera")).first
        ).to_be_visible()
        expect(main.get_by_text(TROUBLE), path).to_have_count(0)
