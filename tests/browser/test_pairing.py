"""A phone signs in by the picture on the owner's screen, and the picture is good for once."""

from __future__ import annotations

import io
import re

from PIL import Image
from playwright.sync_api import expect

from tests.browser.camera import held


def test_a_phone_signs_in_by_the_picture_on_the_owners_screen(
    new_phone, start_link, camera, watcher
):
    desk = new_phone(desk=True)
    desk.enter(start_link())
    desk.go("/phone/pair")
    desk.tap(re.compile("^Ben"), within=desk.page.get_by_role("group", name="Whose phone"))
    picture = desk.page.get_by_role("img", name=re.compile("QR code"))
    expect(picture).to_be_visible()
    camera.show(held(Image.open(io.BytesIO(picture.screenshot())).convert("RGB")))

    phone = new_phone()
    phone.go("/")
    phone.tap("Scan the QR code instead")
    phone.is_in()
    expect(phone.strip).to_contain_text("Ben")
    phone.shot("signed-in")

    watcher.expect("403")
    second = new_phone()
    second.go("/")
    second.tap("Scan the QR code instead")
    second.sees(re.compile("does not let a phone in"))
    camera.show_nothing()
