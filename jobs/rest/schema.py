"""What the API's description says of every resource alike: problems, marks, preconditions, keys."""

from __future__ import annotations

from typing import Any

from drf_spectacular.openapi import AutoSchema

PROBLEM = {
    "type": "object",
    "required": ["type", "title", "status", "detail", "code"],
    "properties": {
        "type": {"type": "string"},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string", "description": "A sentence that says what would be right."},
        "code": {"type": "string"},
        "fields": {"type": "object", "additionalProperties": {"type": "string"}},
        "reasons": {"type": "array", "items": {"type": "object"}},
        "sent": {"type": "object"},
    },
}
ANSWER = {"description": "A problem document (RFC 9457).", "content": {"application/problem+json": {"schema": PROBLEM}}}


class Described(AutoSchema):
    """Ordinary drf-spectacular, with what `jobs.rest` adds to every request."""

    def get_operation(self, *args: Any, **kwargs: Any) -> dict[str, Any] | None:
        operation = super().get_operation(*args, **kwargs)
        if operation is None:
            return None
        operation["responses"]["default"] = ANSWER
        if self.method == "GET":
            operation["responses"]["304"] = {"description": "Nothing changed since the mark in If-None-Match."}
            self._header(operation, "If-None-Match", "The ETag of the answer one has.")
        else:
            self._header(operation, "Idempotency-Key", "The same request under the same key is carried out once.")
        if self.method in ("PUT", "PATCH", "DELETE") and hasattr(self.view, "keeps"):
            self._header(operation, "If-Match", "The ETag that was read.", required=True)
        return operation

    def _header(self, operation: dict[str, Any], name: str, description: str, required: bool = False) -> None:
        named = operation.setdefault("parameters", [])
        if not any(p["name"] == name for p in named):
            named.append({"name": name, "in": "header", "required": required, "schema": {"type": "string"},
                          "description": description})
