"""Every address of the site. The API of each app and the pages are added below."""

from django.urls import URLPattern, URLResolver, include, path

from dashboard.repair import repair
from dashboard.views import photos
from dashboard.views.health import health

urlpatterns: list[URLPattern | URLResolver] = [
    path("api/v1/", include(("dashboard.api_urls", "api"))),  # first: asked most, and told by its first letters
    path("health/", health, name="health"),
    path("", include("dashboard.page_urls")),
    path("repair/", repair.urls),
    path("photos/<uuid:photo_id>/", photos.photo, name="photo"),
    path("photos/<uuid:photo_id>/thumbnail/", photos.thumbnail, name="photo-thumbnail"),
]

handler400 = "dashboard.problems.bad_request"
handler404 = "dashboard.problems.page_not_found"
handler500 = "dashboard.problems.server_error"
