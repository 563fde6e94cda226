"""A camera for the browser: what it shows is a sheet of labels of this run, held in cluttered light."""

from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import zxingcpp
from PIL import Image, ImageFilter

WIDTH, HEIGHT, FRAMES = 1280, 720, 6
FLAGS = ("--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream")
"""The browser reads the picture from a file, once for each time that a page opens the camera."""


class FakeCamera:
    """One file that the browser takes for its camera; `show` before a page opens the camera."""

    def __init__(self, file: Path) -> None:
        self.file = file
        self.show(_clutter())

    @property
    def launch_args(self) -> list[str]:
        return [*FLAGS, f"--use-file-for-fake-video-capture={self.file}"]

    def show(self, picture: Image.Image) -> None:
        """The picture, 1280 x 720, moving a little: 6 frames as YUV4MPEG2, 4:2:0."""
        frames = b"".join(
            b"FRAME\n" + _yuv420(picture.transform(picture.size, Image.Transform.AFFINE, shift))
            for shift in ((1, 0, n, 0, 1, -n) for n in range(FRAMES))
        )
        head = b"YUV4MPEG2 W%d H%d F10:1 Ip A1:1 C420mpeg2\n" % (WIDTH, HEIGHT)
        self.file.write_bytes(head + frames)

    def show_label(self, pdf: bytes, text: str) -> None:
        """The label with this code, cut out of the sheet, held askew before a cluttered wall."""
        self.show(held(label_of(pdf, text)))

    def show_nothing(self) -> None:
        self.show(_clutter())


def label_of(pdf: bytes, text: str) -> Image.Image:
    """The printed label whose QR code says `text`, with the words beside it."""
    for page in pdfium.PdfDocument(pdf):
        sheet = page.render(scale=200 / 72).to_pil().convert("RGB")
        for code in zxingcpp.read_barcodes(sheet, formats=zxingcpp.BarcodeFormat.QRCode):
            if code.text == text:
                corner, opposite = code.position.top_left, code.position.bottom_right
                size = opposite.x - corner.x
                margin = size // 4
                return sheet.crop(
                    (corner.x - margin, corner.y - margin, corner.x + 3 * size, opposite.y + margin)
                )
    raise AssertionError(f"no label on these sheets says {text}")


def held(label: Image.Image) -> Image.Image:
    """The label as a hand holds it: turned by 8 degrees, a little out of focus, in a dim cellar."""
    ground = _clutter()
    side = 330  # about 11 pixels a module
    scaled = label.resize((int(label.width * side / label.height), side)).convert("RGBA")
    turned = scaled.rotate(8, expand=True, resample=Image.Resampling.BICUBIC)
    # The code, at the label's left, comes near the middle of the picture, where the app looks.
    ground.paste(turned, (WIDTH // 2 - 200, HEIGHT // 2 - turned.height // 2), turned)
    dim = ground.filter(ImageFilter.GaussianBlur(1)).point(lambda value: int(value * 0.6))
    return dim.convert("RGB")


def _clutter() -> Image.Image:
    """Boards, shelves and shadows, always the same."""
    chance = np.random.default_rng(20261125)
    ground = np.full((HEIGHT, WIDTH, 3), 96, np.uint8)
    for _ in range(140):
        x, y = chance.integers(0, WIDTH), chance.integers(0, HEIGHT)
        w, h = chance.integers(10, 220), chance.integers(4, 90)
        ground[y : y + h, x : x + w] = chance.integers(20, 190, 3)
    return Image.fromarray(ground)


def _yuv420(picture: Image.Image) -> bytes:
    luma, blue, red = picture.convert("YCbCr").split()
    half = (WIDTH // 2, HEIGHT // 2)
    return luma.tobytes() + blue.resize(half).tobytes() + red.resize(half).tobytes()
