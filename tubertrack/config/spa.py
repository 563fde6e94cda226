"""The one page of the app, for every address that the app itself routes."""

from django.conf import settings
from django.http import FileResponse, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.views.decorators.http import require_safe

# First parts of addresses that belong to the server. The service worker has the same list.
SERVER_PREFIXES = ("api", "sync", "blob", "admin", "static", "trust", "schema", "start")
NOT_BUILT = "The app has not been built yet. Run: python3 manage.py start"


@require_safe
def page(request: HttpRequest) -> HttpResponseBase:
    """index.html, never from a cache without asking; 503 with a sentence before the first build."""
    index = settings.SPA_DIR / "index.html"
    if not index.is_file():
        return HttpResponse(NOT_BUILT, status=503, content_type="text/plain; charset=utf-8")
    response = FileResponse(index.open("rb"), content_type="text/html; charset=utf-8")
    response["Cache-Control"] = "no-cache"
    return response
