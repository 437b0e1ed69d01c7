"""A form that makes a record carries an id of its own: sent twice, by a double click or from a page left open, it made
one record."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from django.db import IntegrityError, models, transaction

from jobs.acts import Act, carry_out
from jobs.errors import Gone
from jobs.models import IdempotentAnswer

Record = TypeVar("Record", bound=models.Model)


def made_once(act: Act, form_id: str, model: type[Record], make: Callable[[], Record]) -> Record:
    """What this form made the first time; refused, it made nothing and may be sent again."""
    with carry_out(act):
        try:
            with transaction.atomic():  # a second one at the same moment waits here until the first is done
                claim = IdempotentAnswer.objects.create(user=act.user, key=_key(form_id), request=model.__name__,
                                                        started_at=act.now)
        except IntegrityError:
            return made_before(act, form_id, model) or make()
        made = make()
        IdempotentAnswer.objects.filter(pk=claim.pk).update(finished_at=act.now, status=201, body=str(made.pk))
    return made


def made_before(act: Act, form_id: str, model: type[Record]) -> Record | None:
    """The record this form made, if it was sent before."""
    kept = IdempotentAnswer.objects.filter(user=act.user, key=_key(form_id), request=model.__name__).first()
    if kept is None:
        return None
    found = model._default_manager.filter(pk=kept.body).first()
    if found is None:
        raise Gone("This was made, and has been removed since. Begin with an empty form.")
    return found


def _key(form_id: str) -> str:
    return f"form {form_id}"[:120]  # with a space, as no key of the API can have
