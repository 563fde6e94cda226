"""A computer that lacks Pango: everything works but PDF, which says in a sentence what to install.

The library is hidden from the real loader: a file that is no library stands in its place, first on
the loader's path, in a process of its own.
"""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tubertrack.apps.paper.pdf import PdfUnavailable

ROOT = Path(__file__).parents[2]
SENTENCE = str(PdfUnavailable())

STORY = """
import django, json
django.setup()
from django.test.utils import setup_test_environment
from django.core.management import call_command
setup_test_environment()
call_command("migrate", verbosity=0)
call_command("check")
from tests.farms import two_farms, found, crate_id
from tubertrack.apps.labels.render import render_labels
from tubertrack.apps.paper.pdf import PdfUnavailable
farms = two_farms()
phone = farms.owner
stored = phone.append(phone.raw("found", found(1, 3, 1)))
client = phone.client
blanks = client.post("/api/labels/blanks/", {"count": 2}, format="json")
told = {"stock": "a4-21", "kind": "blank", "targets": blanks.json()["codes"]}
answers = {
    "stored": stored[0].verdict,
    "stocks": client.get("/api/labels/stocks/").status_code,
    "blanks": blanks.status_code,
    "farm": client.get("/api/farm/").status_code,
    "page": client.get("/").status_code in (200, 404, 503),
}
for name, answer in (
    ("pdf", client.post("/api/labels/pdf/", told, format="json")),
    ("calibration", client.get("/api/labels/calibration/?stock=a4-21")),
):
    answers[name] = [answer.status_code, answer.json()]
print("ANSWERS " + json.dumps(answers))
"""


@pytest.mark.skipif(
    not sys.platform.startswith("linux"), reason="hides the library as Linux's loader finds it"
)
def test_without_pango_all_but_pdf_works_and_pdf_says_what_to_install(tmp_path: Path) -> None:
    import json

    hidden = tmp_path / "hidden"
    hidden.mkdir()
    for name in (
        "libpango-1.0.so.0",
        "libpango-1.0.so",
        "libpango-1.0-0",
        "pango-1.0",
        "pango-1.0-0",
    ):
        (hidden / name).write_bytes(b"no library")
    path = os.pathsep.join(filter(None, [str(hidden), os.environ.get("LD_LIBRARY_PATH", "")]))
    environment = {
        **os.environ,
        "LD_LIBRARY_PATH": path,
        "DJANGO_SETTINGS_MODULE": "tubertrack.config.settings",
        "TUBERTRACK_DATA": str(tmp_path / "data"),
        "PYTHONPATH": str(ROOT),
    }
    environment.pop("DATABASE_URL", None)

    done = subprocess.run(
        [sys.executable, "-c", STORY],
        env=environment,
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )

    assert 0 == done.returncode, done.stderr
    line = next(line for line in done.stdout.splitlines() if line.startswith("ANSWERS "))
    refusal = [503, {"code": "pdf_unavailable", "message": SENTENCE}]
    assert {
        "stored": "stored",
        "stocks": 200,
        "blanks": 201,
        "farm": 200,
        "page": True,
        "pdf": refusal,
        "calibration": refusal,
    } == json.loads(line.removeprefix("ANSWERS "))
    assert "courtbouillon" not in done.stdout + done.stderr  # not another's advice beside ours


def test_the_sentence_is_one_and_names_each_system() -> None:
    assert SENTENCE.endswith(".")
    assert ". " not in SENTENCE.replace("libpango-1.0-0", "")
    for word in ("apt install", "brew install pango", "MSYS2", "start Winter Tally again"):
        assert word in SENTENCE
