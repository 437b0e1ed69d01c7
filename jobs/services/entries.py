"""Entries carry an id their device chose: sent twice, they are one record; with other content, the first stays."""

from __future__ import annotations

import hashlib
import uuid
from typing import Any, TypeVar

import orjson
from django.db import models

from jobs.errors import AlreadyHasOther, Invalid

Record = TypeVar("Record", bound=models.Model)


def fingerprint(*content: Any) -> str:
    """A hash of what was sent, the same however its keys were ordered."""
    try:
        return hashlib.sha256(orjson.dumps(content, option=orjson.OPT_SORT_KEYS, default=str)).hexdigest()
    except orjson.JSONEncodeError as why:
        raise Invalid("Objects lie too deep within each other.", fields={"data": "a few levels at most"}) from why


def had_already(model: type[Record], entry_id: uuid.UUID | None, mark: str) -> Record | None:
    """The record this entry made when it came before; refuses the same id with other content."""
    if entry_id is None:
        return None
    found = model._default_manager.filter(pk=entry_id).first()
    if found is not None and found.fingerprint != mark:
        raise AlreadyHasOther("This id was sent before with other content. The first is kept; send the new one "
                              "under an id of its own.")
    return found
