"""Is everything running? For whoever watches the machine."""

from django.http import HttpRequest, JsonResponse
from django.views.decorators.http import require_safe

from dashboard import pulse


@require_safe
def health(request: HttpRequest) -> JsonResponse:
    """200 when database, broker, worker and beat are alive, else 503; says which, and nothing else."""
    alive = pulse.alive()
    response = JsonResponse({"ok": all(alive.values()), **alive}, status=200 if all(alive.values()) else 503)
    response["Cache-Control"] = "no-store"
    return response
