"""The built app in a folder of its own, and the real application serving it in threads."""

import hashlib
import json
import re
import shutil
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from socketserver import ThreadingMixIn
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer, make_server

from django.core.wsgi import get_wsgi_application

BUILT = Path(__file__).resolve().parents[2] / "tubertrack" / "spa"
MARK = '<meta name="build" content="newer" />'


class _Threading(ThreadingMixIn, WSGIServer):
    daemon_threads = True
    request_queue_size = 64  # a page asks for its parts all at once


class _Silent(WSGIRequestHandler):
    def log_message(self, *_: object) -> None:
        pass


class Site:
    """The built app in a folder of its own, which a test may bring a newer build into."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        shutil.copytree(BUILT, folder, ignore=shutil.ignore_patterns("*.br", "*.gz"))
        self.old_page = (folder / "index.html").read_text("utf-8")

    def bring_newer_page(self) -> None:
        (self.folder / "index.html").write_text(
            self.old_page.replace("<head>", f"<head>{MARK}"), "utf-8"
        )

    def bring_newer_worker(self, *, without: str = "") -> None:
        """The worker that the build writes when the page changed, and a file perhaps went."""
        newer = self.old_page.replace("<head>", f"<head>{MARK}")
        worker = self.folder / "sw.js"
        source = worker.read_text("utf-8")
        listed = re.search(r"const FILES = (\{.*\});", source)
        assert listed
        files = json.loads(listed[1])
        files.pop(without, None)
        files["/"] = hashlib.sha256(newer.encode()).hexdigest()
        source = source.replace(listed[1], json.dumps(files))
        worker.write_text(
            re.sub(r"CACHE_PREFIX\}[0-9a-f]{16}", "CACHE_PREFIX}00112233aabbccdd", source), "utf-8"
        )


@contextmanager
def served() -> Iterator[str]:
    """The application on a free port of this machine; the address it answers at."""
    server = make_server("127.0.0.1", 0, get_wsgi_application(), _Threading, _Silent)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    server.server_close()
    thread.join()
