"""Every address of the site. The API of each app and the pages are added below."""

from django.urls import URLPattern, URLResolver, path

from dashboard.views.health import health

urlpatterns: list[URLPattern | URLResolver] = [
    path("health/", health, name="health"),
]
