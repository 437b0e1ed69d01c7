"""Every address of the site. The API of each app and the pages are added below."""

from django.urls import URLPattern, URLResolver, path

from dashboard.views import photos
from dashboard.views.health import health

urlpatterns: list[URLPattern | URLResolver] = [
    path("health/", health, name="health"),
    path("photos/<uuid:photo_id>/", photos.photo, name="photo"),
    path("photos/<uuid:photo_id>/thumbnail/", photos.thumbnail, name="photo-thumbnail"),
]
