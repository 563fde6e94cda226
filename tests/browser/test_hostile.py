"""Every screen of a farm in which every text is hostile: shown as the letters it is, and inert.

The records are of every kind, made from the kinds' own schemas, and the rows off the log are found by
their models: a new kind, field, table or screen is looked at without a word said here.
"""

from __future__ import annotations

import re
import time
from typing import Any

import pytest
from django.apps import apps
from django.db.models import CharField, TextField
from playwright.sync_api import expect

from tests import farms
from tests.browser.test_screens import routes
from tests.security import hostile
from tests.security.bodies import thing

ORDINARY = {"time_zone", "as_of", "currency", "username", "password"}
"""Off the log, but of a form of their own, which the server holds them to."""

SEEN = """() => {
  const turning = /[\\u202a-\\u202e]/;
  const texts = [], wrong = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const data = walker.currentNode.data;
    texts.push(data);
    let deep = 0;
    for (const letter of data) {
      if (/[\\u2066-\\u2068]/.test(letter)) deep += 1;
      if (letter === "\\u2069") deep -= 1;
      if (deep < 0) break;
    }
    if (turning.test(data) || deep !== 0) wrong.push(`turns round: ${JSON.stringify(data.slice(0, 60))}`);
    if (/\\p{M}{5}/u.test(data)) wrong.push(`piles up marks: ${data.slice(0, 30)}`);
  }
  const made = document.querySelectorAll(
    "script:not([src^='/']), [onerror], [onload], [onfocus], [onmouseover], a[href^='javascript'], iframe, object, embed");
  for (const node of made) wrong.push(`was made of a text: ${node.outerHTML.slice(0, 80)}`);
  if (window.__hurt) wrong.push("ran");
  // Not innerWidth: a phone's grows with what does not fit.
  const wide = document.documentElement.scrollWidth - WIDTH;
  if (wide > 0) {
    const nodes = [...document.body.querySelectorAll("*")];
    const reach = (node) => Math.round(node.getBoundingClientRect().right);
    const far = nodes.filter((node) => reach(node) > WIDTH + 1 && !node.childElementCount).slice(0, 3);
    const said = far.map((node) => `${node.tagName} ${node.className} “${node.textContent.slice(0, 40)}” to ${reach(node)}`);
    wrong.push(`${wide} px too wide: ${said.join("; ")}`);
  }
  return { wrong, text: texts.join("\\n") };
}"""


def texts_off_the_log(model: Any) -> list[Any]:
    return [
        field
        for field in model._meta.get_fields()
        if isinstance(field, CharField | TextField)
        and not field.choices
        and field.editable
        and field.name not in ORDINARY
        and not field.name.endswith("hash")
    ]


def spoil(farm: Any) -> int:
    """Every text off the log of this farm is hostile now; how many."""
    spoilt = 0
    for model in apps.get_app_config("accounts").get_models():
        names = {field.name for field in model._meta.get_fields()}
        rows = model._default_manager.filter(pk=farm.pk) if model is type(farm) else None
        if rows is None:
            rows = model._default_manager.filter(farm=farm) if "farm" in names else []
        for row in rows:
            for field in texts_off_the_log(model):
                room = field.max_length or 1000
                text = hostile.TEXTS[spoilt % len(hostile.TEXTS)][:room]
                # what its serializer would have refused or any database turns away
                text = re.sub("[\\x00\\ud800-\\udfff]", "?", text)
                setattr(row, field.name, text)
                spoilt += 1
            row.save()
    return spoilt


@pytest.fixture
def hostile_farm(farm: Any, api: Any) -> Any:
    phone = farms.phone_of(farm.members.get(role="owner"))
    now = int(time.time() * 1000)
    raws = [*hostile.names_first(phone), *hostile.story(phone)]
    verdicts = phone.append(*raws, now=now)
    assert [] == [one for one in verdicts if one.verdict != "stored"]
    phone.append(*hostile.of_every_kind(phone), now=now)
    for n in range(3):
        api.post("/api/buyers/", {"name": f"Buyer {n}", "contact": "x", "note": "y"})
    assert spoil(farm) > 10
    return farm


def things(api: Any) -> dict[str, str]:
    records = api.get("/api/records/", kind="checked", ordering="-seq", page_size=1)["results"]
    problems = api.rows("problems")
    return {
        ":crate": thing("crate", 0),
        ":lot": thing("lot", 0),
        ":variety": thing("variety", 0),
        ":place": thing("place", 0),
        ":code": hostile.code("crate", 0),
        ":sha": records[0]["sha256"],
        ":table": "varieties",
        ":row": thing("variety", 1),
        ":member": api.get("/api/members/")[0]["id"],
        ":device": next(row["id"] for row in api.get("/api/devices/") if row["sort"] == "phone"),
        ":buyer": api.get("/api/buyers/")[0]["id"],
        ":key": problems[0].get("key", problems[0].get("id")) if problems else "none",
    }


def paths(api: Any) -> list[str]:
    known = things(api)
    unknown = {part for path in routes() for part in path.split("/") if part[:1] == ":"} - set(
        known
    )
    assert not unknown, f"what stands for {unknown}?"
    filled = [
        "/".join(known[part] if part.startswith(":") else part for part in path.split("/"))
        for path in routes()
        if path != "/pair/:code"
    ]
    return [*filled, *(f"/rows/{table}" for table in hostile.NAMES)]


@pytest.mark.parametrize("desk", [False, True], ids=["phone", "desk"])
def test_every_screen_shows_letters_and_does_nothing(
    new_phone, start_link, hostile_farm, api, camera, desk
):
    camera.show_nothing()
    phone = new_phone(desk=desk)
    dialogs: list[str] = []
    phone.page.on("dialog", lambda dialog: (dialogs.append(dialog.message), dialog.dismiss()))
    phone.enter(start_link())
    phone.has_all()
    faults, seen = [], ""
    for path in paths(api):
        phone.follow(path)
        main = phone.page.get_by_role("main")
        expect(
            main.get_by_role("heading", level=1).or_(main.get_by_label("Camera")).first
        ).to_be_visible()
        expect(main.get_by_text(re.compile("^(Fetching|Asking|Camera opening)"))).to_have_count(0)
        told = phone.page.evaluate(SEEN.replace("WIDTH", str(phone.page.viewport_size["width"])))
        faults += [f"{path}: {one}" for one in told["wrong"]]
        seen += told["text"].replace("\u200b", "")  # where a long word may break
        phone.shot(path.strip("/").replace("/", "-")[:60] or "first", whole=True)
    assert [] == dialogs
    assert not faults, "\n".join(faults)
    shown = [text for text in hostile.MARKUP if text in seen]
    assert len(shown) >= 5, shown  # as letters: they came as far as the screens


def test_a_name_from_the_right_leaves_the_figures_beside_it_where_they_are(
    new_phone, start_link, store, api
):
    """What is written behind a name stands to the right of it, figures above all."""
    name = "\u05d3\u05dc\u05d9\u05d4 \u05e9\u05d7\u05d5\u05e8\u05d4"
    store.crate("12", 34, name)
    phone = new_phone(desk=True)
    phone.enter(start_link())
    phone.has_all()
    lot = api.rows("lots")[0]["id"]
    phone.follow(f"/lot/{lot}")
    phone.tap(re.compile("^History"))
    expect(phone.page.get_by_text(re.compile(f"{name}.* into crate 12")).first).to_be_visible()
    # "<name>, crate 12" anywhere on the page: in one text, what is written later stands further right
    pairs = phone.page.evaluate(
        """(name) => {
          const found = [];
          const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
          while (walker.nextNode()) {
            const node = walker.currentNode, at = node.data.indexOf(name);
            if (at < 0) continue;
            const after = node.data.slice(at + name.length).search(/[0-9]/);
            if (after < 0) continue;
            const box = (from, to) => {
              const range = document.createRange();
              range.setStart(node, from);
              range.setEnd(node, to);
              return range.getBoundingClientRect();
            };
            const digit = at + name.length + after;
            const [a, b] = [box(at, at + name.length), box(digit, digit + 1)];
            if (a.width > 0 && a.top === b.top) found.push([node.data, a.right <= b.left + 1]);
          }
          return found;
        }""",
        name,
    )
    assert pairs, "no text on this page has the name and a figure after it"
    assert [] == [words for words, in_order in pairs if not in_order]
