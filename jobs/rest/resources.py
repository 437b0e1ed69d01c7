"""What the resources of all floors have in common: who may, which rows, pages, marks, keys. Acts are theirs to add."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import Any
from urllib.parse import urlencode

from django.db import models
from django.http import HttpResponse
from drf_spectacular.utils import OpenApiParameter
from rest_framework import serializers
from rest_framework.pagination import BasePagination
from rest_framework.permissions import IsAuthenticated
from rest_framework.request import Request
from rest_framework.viewsets import GenericViewSet

from jobs.acts import Act, position
from jobs.errors import NotAllowed, NotThere
from jobs.models import Opening
from jobs.rest import marks, paging, statements
from jobs.rest.bodies import answer, dumped
from jobs.rest.errors import BadQuery
from jobs.rest.fields import Moment
from jobs.rest.filters import ALWAYS, Filters
from jobs.rest.once import carried_out_once
from jobs.rest.reader import Reader, reader_of
from jobs.rest.rows import Plan, Row, plan_for
from jobs.roles import LABELS, Reach, Role
from jobs.services import office
from jobs.services.access import require

UNSAFE = ("POST", "PUT", "PATCH", "DELETE")
_plans: dict[tuple[type, tuple[str, ...]], Plan] = {}


class KeyPages(BasePagination):
    """For the schema; the pages themselves are made in `Resource.list`."""

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        link = {"type": ["string", "null"], "description": "Address of that page."}
        return {"type": "object", "required": ["next", "previous", "results"],
                "properties": {"next": link, "previous": link, "results": schema}}

    def get_schema_operation_parameters(self, view: Any) -> list[dict[str, Any]]:
        orders = sorted(o for name in view.orderings for o in (name, f"-{name}"))
        return [
            _parameter("cursor", {"type": "string"}, "From `next` or `previous` of another page."),
            _parameter("page_size", {"type": "integer", "minimum": 1, "maximum": paging.MOST, "default": paging.PAGE}),
            _parameter("ordering", {"type": "string", "enum": orders, "default": view.default_ordering}),
        ]


def _parameter(name: str, schema: dict[str, Any], description: str = "") -> dict[str, Any]:
    return {"name": name, "in": "query", "required": False, "schema": schema, "description": description}


IF_MATCH = OpenApiParameter("If-Match", str, OpenApiParameter.HEADER, required=True,
                            description="The ETag that was read; 428 without it, 412 when somebody was faster.")


class MaySee(IsAuthenticated):
    """Signed in, and in a role that does this at all. On which openings is asked when the record is found."""

    def has_permission(self, request: Request, view: Any) -> bool:
        if not super().has_permission(request, view):
            return False
        what = view.asked_for()
        if what is not None and view.reader.reach(what) is None:
            raise NotAllowed(f"{LABELS[Role(view.reader.role)]} may not {what}.")
        return True


class Asking:
    """For every view of the API: its reader, one refusal for a null character, and requests carried out once."""

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        if any("\x00" in text for name, sent in request.query_params.lists() for text in (request.path, name, *sent)):
            raise BadQuery("address", "leave out the null character")
        key, name = request.headers.get("Idempotency-Key"), request.method.lower()
        if key is not None and request.method in UNSAFE and request.user.is_authenticated and hasattr(self, name):
            setattr(self, name, partial(self._once, getattr(self, name), key))

    def _once(self, handler: Callable[..., HttpResponse], key: str, request: Request, *args: Any,
              **kwargs: Any) -> HttpResponse:
        return carried_out_once(request, key, partial(handler, request, *args, **kwargs))

    def perform_content_negotiation(self, request: Request, force: bool = False) -> Any:
        """JSON is what there is; only somebody who will not take it is asked further."""
        if request.META.get("HTTP_ACCEPT", "*/*") in ("*/*", "application/json"):
            renderer = self.renderer_classes[0]()
            return renderer, renderer.media_type
        return super().perform_content_negotiation(request, force)

    @property
    def reader(self) -> Reader:
        return reader_of(self.request)

    def act(self, device_time: Any = None) -> Act:
        return self.reader.act(device_time)

    def sent(self, kind: type[serializers.Serializer], **how: Any) -> dict[str, Any]:
        """The body as this serializer reads it; refuses what it cannot read, field by field."""
        read = kind(data=self.request.data, **how)
        read.is_valid(raise_exception=True)
        return dict(read.validated_data)


class Resource(Asking, GenericViewSet):
    """Rows of one model, from those the reader may see.

    `through` is the path to the opening a row hangs on ("" for openings themselves); None where every reader
    sees every row. `acts` names what each writing action does in the table of roles; `hides` which fields go
    with an act of reading that the reader may not do.
    """

    model: type[models.Model]
    listed: type[serializers.Serializer] | None = None  # what a list shows, where that is less
    through: str | None = None
    reads = "read"
    acts: Mapping[str, str] = {}
    hides: Mapping[str, Sequence[str]] = {}
    orderings: Mapping[str, Sequence[str]] = {"id": ("pk",)}
    default_ordering = "id"
    pagination_class = KeyPages
    filter_backends = [Filters]
    permission_classes = [MaySee]
    lookup_value_regex = "[0-9]{1,18}"

    # --- who may, and which rows

    def asked_for(self) -> str | None:
        if self.action is None:
            return None  # no such method here, which is said afterwards
        return self.acts.get(self.action, self.reads)

    def get_queryset(self) -> models.QuerySet:
        """The rows the reader may see, and no others."""
        rows = self.model._default_manager.all()
        if getattr(self, "swagger_fake_view", False):
            return rows
        how_far = self.reader.reach(self.reads)
        if how_far is None:
            return rows.none()
        return rows if how_far is Reach.ALL or self.through is None else self.own(rows)

    def own(self, rows: models.QuerySet) -> models.QuerySet:
        """Of the rows, those that hang on openings the reader may see."""
        mine = self.reader.openings()
        return rows.filter(pk__in=mine) if self.through == "" else rows.filter(**{f"{self.through}__in": mine})

    def found(self, what: str | None = None) -> Any:
        """The record of the address; with `what`, only for one who may do that to it."""
        record = self.get_queryset().filter(pk=self.kwargs["pk"]).first()
        if record is None:
            raise NotThere("There is no such record among those you may see.")
        what = what or self.acts.get(self.action)
        if what is not None:
            require(self.act(), what, opening_of(record, self.through))
        return record

    # --- reading

    def get_serializer_class(self) -> type[serializers.Serializer]:
        return self.listed if self.listed and self.action == "list" else self.serializer_class

    def plan(self, kind: type[serializers.Serializer] | None = None) -> Plan:
        hidden = tuple(name for what, names in self.hides.items() if self.reader.reach(what) is None for name in names)
        kind = kind or self.serializer_class
        if (kind, hidden) not in _plans:
            _plans[kind, hidden] = plan_for(kind, hidden)
        return _plans[kind, hidden]

    def mark(self) -> str:
        """Changes whenever this list could: another change anywhere, other rights, another day, another address."""
        return marks.mark_of(self.request.get_full_path(), position(), *self.reader.rights(), *self.also_marked_by())

    def also_marked_by(self) -> tuple[Any, ...]:
        """What else this list hangs on, beside acts."""
        return ()

    def list(self, request: Request, *args: Any, **kwargs: Any) -> HttpResponse:
        mark = self.mark()
        if marks.is_known(request.headers.get("If-None-Match"), mark):
            return marks.unchanged(mark)
        cut = paging.cut(self.model, request.query_params, self.orderings, self.default_ordering)
        return marks.marked(answer(self._page(cut)), mark)

    def _page(self, cut: paging.Cut) -> dict[str, Any]:
        plan = self.plan(self.listed)
        columns = self._columns(plan, cut)
        height = len(columns[0]) if columns else 0
        order = slice(None, cut.size) if not cut.back else slice(min(cut.size, height) - 1, None, -1)
        columns = [column[order] for column in columns]
        more, some = height > cut.size, height > 0
        there = {"next": some and (more or cut.back),
                 "previous": some and (more if cut.back else cut.after is not None)}
        keys = [statements.wanted(plan, cut).index(key.path) for key in cut.keys]
        links = {name: self._link(cut, [columns[key][-1 if name == "next" else 0] for key in keys], name == "previous")
                 if there[name] else None for name in there}
        return {**links, "results": self.completed(plan.of_columns(self.model, columns) if some else [])}

    def _columns(self, plan: Plan, cut: paging.Cut) -> statements.Columns:
        """The page's columns: by SQL written before where the whole table is read, else through the ORM."""
        if self.reads_all() and not self.request.query_params.keys() - ALWAYS:
            columns = statements.read(self.get_queryset, plan, cut)
            if columns is not None:
                return columns
        found = cut.page(self.filter_queryset(self.get_queryset()))
        return list(zip(*found.values_list(*statements.wanted(plan, cut)), strict=True))

    def reads_all(self) -> bool:
        """Whether this reader sees every row of the table."""
        ordinary = type(self).get_queryset is Resource.get_queryset
        return ordinary and (self.through is None or self.reader.reach(self.reads) is Reach.ALL)

    def completed(self, rows: list[Row]) -> list[Row]:
        """Adds what no column of a row's own query holds, for all rows at once."""
        return rows

    def _link(self, cut: paging.Cut, at: Sequence[Any], back: bool) -> str:
        asked = dict(self.request.query_params.lists())
        query = urlencode({**asked, "cursor": paging.cursor(cut.name, at, back)}, doseq=True)
        return self.request.build_absolute_uri(f"{self.request.path}?{query}")

    def retrieve(self, request: Request, *args: Any, **kwargs: Any) -> HttpResponse:
        rows = self.plan().rows(self.get_queryset().filter(pk=kwargs["pk"]))
        if not rows:
            raise NotThere("There is no such record among those you may see.")
        return self.shown(self.completed(rows)[0])

    def shown(self, row: Row, status: int = 200) -> HttpResponse:
        """One record with its mark; 304 when the reader has it already."""
        body = dumped(row)
        mark = marks.content_mark(body, row.get("version"))
        if status == 200 and self.request.method in ("GET", "HEAD") and marks.is_known(
                self.request.headers.get("If-None-Match"), mark):
            return marks.unchanged(mark)
        return marks.marked(HttpResponse(body, status=status, content_type="application/json"), mark)

    def record(self, record: models.Model, status: int = 200, kind: type[serializers.Serializer] | None = None,
               ) -> HttpResponse:
        """What is stored of a record just made or changed."""
        rows = self.plan(kind).rows(type(record)._default_manager.filter(pk=record.pk))
        response = self.shown((rows if kind else self.completed(rows))[0], status)
        if status == 201 and kind is None:
            response["Location"] = self.request.build_absolute_uri(f"{self.request.path.rstrip('/')}/{record.pk}/")
        return response

    def entry(self, kind: type[serializers.Serializer], make: Callable[..., models.Model],
              shown: type[serializers.Serializer] | None = None) -> HttpResponse:
        """Reads an entry and has it made: `make(act, entry_id=…, **the rest)`. 201 for a new one, 200 for one that
        was here already."""
        sent = self.sent(kind)
        entry_id = sent.pop("id", None)
        act = self.act(sent.pop("taken_at", None))
        model = (shown or self.serializer_class).Meta.model
        had = entry_id is not None and model._default_manager.filter(pk=entry_id).exists()
        return self.record(make(act, entry_id=entry_id, **sent), 200 if had else 201, shown)

    def version(self, record: Any) -> int:
        return marks.version_named(self.request.headers.get("If-Match"), record.version)


class ReadOnly(Resource):
    """Listed and read; what happens to it has names of its own."""


class OfficeResource(Resource):
    """Kept by the office: made, changed and removed under a version."""

    keeps = "keep office records"
    named: str  # plural, as in the address

    def asked_for(self) -> str | None:
        if self.action in ("create", "update", "partial_update", "destroy"):
            return self.keeps
        return super().asked_for()

    def create(self, request: Request, *args: Any, **kwargs: Any) -> HttpResponse:
        return self.record(self.make(self.sent(self.serializer_class)), 201)

    def make(self, values: dict[str, Any]) -> models.Model:
        return office.create(self.act(), self.model, values, record=self.named, may=self.keeps)

    def update(self, request: Request, *args: Any, partial: bool = False, **kwargs: Any) -> HttpResponse:
        found = self.found(self.keeps)
        version = self.version(found)
        values = self.sent(self.serializer_class, instance=found, partial=partial)
        return self.record(self.alter(found, values, version))

    def alter(self, found: Any, values: dict[str, Any], version: int) -> models.Model:
        return office.change(self.act(), found, values, version=version, record=self.named, may=self.keeps)

    def partial_update(self, request: Request, *args: Any, **kwargs: Any) -> HttpResponse:
        return self.update(request, *args, partial=True, **kwargs)

    def destroy(self, request: Request, *args: Any, **kwargs: Any) -> HttpResponse:
        found = self.found(self.keeps)
        self.take_away(found, self.version(found))
        return HttpResponse(status=204)

    def take_away(self, found: Any, version: int) -> None:
        office.remove(self.act(), found, version=version, record=self.named, may=self.keeps)


class SiteResource(Resource):
    """Made on site, with an id the device chose; never changed, only added to."""

    lookup_value_regex = "[0-9a-fA-F-]{36}"

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        if "pk" in kwargs:
            try:
                uuid.UUID(kwargs["pk"])
            except ValueError as why:
                raise NotThere("There is no such record among those you may see.") from why


def opening_of(record: Any, through: str | None) -> Opening | None:
    """The opening a record hangs on."""
    if through == "":
        return record
    for part in (through or "").split("__"):
        record = getattr(record, part, None) if part else None
        if record is None:
            return None
    return record


class Entry(serializers.Serializer):
    """What every entry from site may carry: its id, and the time the device says."""

    id = serializers.UUIDField(required=False,
                               help_text="Chosen by the device (UUID version 7). Sent twice, it is one.")
    taken_at = Moment(required=False, allow_null=True, help_text="By the device's own clock.")
