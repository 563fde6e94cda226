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
from typing import Any
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


class Gate:
    """Stands before the application and lets pushes through, or not.

    Playwright's own routing is not used for this: with it, now and then, the browser never ends the
    fetch of a page that a newer service worker should answer.
    """

    def __init__(self) -> None:
        self.closed = False
        self.seen = 0
        self._swallowing = False
        self.swallowed = threading.Event()
        self._over = threading.Event()

    def swallow_next_answer(self) -> None:
        """The next push is stored, and its sender waits for the answer until the test is over."""
        self._swallowing = True

    def end(self) -> None:
        self._over.set()

    def around(self, application: Any) -> Any:
        def gate(environ: dict[str, Any], start_response: Any) -> Any:
            if environ["PATH_INFO"] != "/sync/v1/push":
                return application(environ, start_response)
            self.seen += 1
            if self.closed:
                start_response("503 Service Unavailable", [("Content-Type", "application/json")])
                return [b'{"code": "closed", "message": "The test lets no push through."}']
            answer = application(environ, start_response)
            if self._swallowing:
                self._swallowing = False
                self.swallowed.set()
                self._over.wait(60)
            return answer

        return gate


class Site:
    """The built app in a folder of its own, which a test may bring a newer build into."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.gate = folder, Gate()
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
def served(gate: Gate) -> Iterator[str]:
    """The application on a free port of this machine; the address it answers at."""
    application = gate.around(get_wsgi_application())
    server = make_server("127.0.0.1", 0, application, _Threading, _Silent)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    gate.end()
    server.shutdown()
    server.server_close()
    thread.join()
