"""The site with everything imported, for a server that forks its workers: they answer from the first moment."""

from django.urls import get_resolver

from dashboard.wsgi import application

get_resolver().reverse_dict  # noqa: B018  (goes through every address)

__all__ = ["application"]
