"""Every address. Each app lists its own in full; the app's page answers for the rest."""

from django.contrib import admin
from django.urls import include, path, re_path
from drf_spectacular.views import SpectacularAPIView

from tubertrack.config.errors import plain_error
from tubertrack.config.spa import SERVER_PREFIXES, page

urlpatterns = [
    path("admin/", admin.site.urls),
    path("api/schema/", SpectacularAPIView.as_view(), name="schema"),
    path("", include("tubertrack.apps.accounts.urls")),
    path("", include("tubertrack.apps.records.urls")),
    path("", include("tubertrack.apps.sync.urls")),
    path("", include("tubertrack.apps.labels.urls")),
    path("", include("tubertrack.apps.reports.urls")),
    path("", include("tubertrack.apps.exchange.urls")),
    # No dot: a missing file is a 404, not the page.
    re_path(rf"^(?!(?:{'|'.join(SERVER_PREFIXES)})(?:/|$))[^.]*$", page, name="app"),
]

handler400 = plain_error(400)
handler403 = plain_error(403)
handler404 = plain_error(404)
handler500 = plain_error(500)
