"""Parties, people, and the tokens of programs and telephones."""

from __future__ import annotations

from typing import Any

from django.contrib.auth import authenticate
from django.db import models
from django.db.models import Q
from django.http import HttpResponse
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from jobs.acts import Act
from jobs.errors import NotAllowed, NotThere
from jobs.filters import PartyFilter, PersonFilter, TokenFilter
from jobs.models import AccessToken, Party, User
from jobs.rest.bodies import answer, dumped
from jobs.rest.errors import LockedOut
from jobs.rest.reader import Reader
from jobs.rest.resources import MaySee, OfficeResource, Resource
from jobs.roles import Reach
from jobs.serializers import MadeTokenSerializer, NewTokenSerializer, PartySerializer, PersonSerializer, TokenSerializer
from jobs.services.people import change_person, make_person
from jobs.services.tokens import make_token, revoke_token


class PartyResource(OfficeResource):
    """Builders, home owners, architects, suppliers: who they are and how to reach them."""

    model, named = Party, "parties"
    serializer_class, filterset_class = PartySerializer, PartyFilter
    through = "jobs"  # not an opening: see `own`
    orderings = {"id": ("pk",), "name": ("name",)}
    hides = {"read contacts": ("contact", "phone", "email", "address", "may_be_told")}

    def own(self, rows: models.QuerySet) -> models.QuerySet:
        """Those who have to do with the reader's own openings."""
        jobs, mine = self.reader.jobs().values("pk"), self.reader.openings().values("pk")
        waits, deliveries = Party.objects.filter(owes__opening__in=mine), Party.objects.filter(deliveries__job__in=jobs)
        return rows.filter(Q(pk__in=Party.objects.filter(jobs_as_builder__in=jobs).values("pk"))
                           | Q(pk__in=Party.objects.filter(jobs_as_owner__in=jobs).values("pk"))
                           | Q(pk__in=waits.values("pk")) | Q(pk__in=deliveries.values("pk")))

    def found(self, what: str | None = None) -> Any:
        return unhung(self)


def unhung(resource: Resource) -> Any:
    """The record of the address, where it hangs on no opening; the service asks the role."""
    record = resource.get_queryset().filter(pk=resource.kwargs["pk"]).first()
    if record is None:
        raise NotThere("There is no such record among those you may see.")
    return record


class NewPerson(PersonSerializer):
    password = serializers.CharField(write_only=True, max_length=200, trim_whitespace=False)

    class Meta(PersonSerializer.Meta):
        fields = [*PersonSerializer.Meta.fields, "password"]


class PersonResource(OfficeResource):
    """People who sign in. Closed with `is_active: false`; never removed, since records name them."""

    model, named, keeps, reads = User, "people", "keep people", "read people"
    serializer_class, filterset_class = PersonSerializer, PersonFilter
    orderings = {"id": ("pk",), "name": ("name",)}
    hides = {"keep people": ("version", "username", "email", "phone", "time_zone", "language", "units", "mail_own",
                             "mail_others", "is_active")}
    http_method_names = ["get", "head", "options", "post", "patch"]

    def get_serializer_class(self) -> type[serializers.Serializer]:
        return NewPerson if self.action in ("create", "partial_update") else PersonSerializer

    def create(self, request: Request, *args: Any, **kwargs: Any) -> HttpResponse:
        sent = self.sent(NewPerson)
        return self.record(make_person(self.act(), sent, sent.pop("password")), 201)

    def partial_update(self, request: Request, *args: Any, **kwargs: Any) -> HttpResponse:
        found = unhung(self)
        version = self.version(found)
        sent = self.sent(NewPerson, instance=found, partial=True)
        password = sent.pop("password", "")
        return self.record(change_person(self.act(), found, sent, version=version, password=password))


class TokenPermission(BasePermission):
    """A token is made by somebody signed in, or with a name and password; everything else asks who it is."""

    def has_permission(self, request: Request, view: Any) -> bool:
        return view.action == "create" or MaySee().has_permission(request, view)


class TokenResource(Resource):
    """Tokens for programs and telephones. The secret is shown once, when the token is made; it is kept hashed."""

    model, reads = AccessToken, "keep own tokens"
    serializer_class, filterset_class = TokenSerializer, TokenFilter
    permission_classes = [TokenPermission]
    lookup_value_regex = "[0-9a-fA-F]{8}-(?:[0-9a-fA-F]{4}-){3}[0-9a-fA-F]{12}"
    orderings = {"id": ("public_id",)}
    rate = None

    def get_queryset(self) -> models.QuerySet:
        """One's own; all of them for the office."""
        rows = AccessToken.objects.all()
        if getattr(self, "swagger_fake_view", False):
            return rows
        return rows if self.reader.reach("keep people") is Reach.ALL else rows.filter(user=self.reader.user)

    @extend_schema(operation_id="tokens_retrieve")
    def retrieve(self, request: Request, pk: str) -> HttpResponse:
        rows = self.plan().rows(self.get_queryset().filter(public_id=pk))
        if not rows:
            raise NotThere("There is no such token among those you may see.")
        return self.shown(rows[0])

    def get_throttles(self) -> list[Any]:
        self.rate = "tokens" if self.action == "create" else None
        return super().get_throttles()

    @extend_schema(request=NewTokenSerializer, responses={201: MadeTokenSerializer}, auth=[{}, {"cookieAuth": []}])
    def create(self, request: Request) -> HttpResponse:
        sent = self.sent(NewTokenSerializer)
        act = self._as_whom(sent.pop("username", None), sent.pop("password", None))
        token, secret = make_token(act, **sent)
        shown = self._plan_for(act).rows(AccessToken.objects.filter(pk=token.pk))[0]
        response = answer({**shown, "token": secret}, 201)
        response.to_keep = dumped({**shown, "token": None})  # a replay does not show the secret again
        response["Cache-Control"] = "no-store"
        return response

    def _plan_for(self, act: Act) -> Any:
        self.request._reader = Reader(act.user, act.role, act.now)
        return self.plan(TokenSerializer)

    def _as_whom(self, username: str | None, password: str | None) -> Act:
        """With a name and password, or signed in; a token does not make tokens, so that none outlives its end."""
        if username is not None:
            plain = self.request._request
            user = authenticate(plain, username=username, password=password)
            if getattr(plain, "axes_locked_out", False):
                plain.axes_locked_out = False  # said here, as a problem document; else its middleware says it as a page
                raise LockedOut("Too many wrong passwords for this name from here. Wait a quarter of an hour.")
            if user is None:
                raise AuthenticationFailed("That name and password do not belong together.")
            return Reader(user, user.role, timezone.now()).act()
        if not self.request.user.is_authenticated:
            raise AuthenticationFailed("Sign in, or send username and password.")
        if isinstance(self.request.auth, AccessToken):
            raise NotAllowed("A token is made by a person: sign in, or send username and password.")
        return self.act()

    @extend_schema(responses={200: TokenSerializer})
    def destroy(self, request: Request, pk: str) -> HttpResponse:
        """Revokes it. It stays in the list, so that it is known that there was one."""
        token = self.get_queryset().filter(public_id=pk).first()
        if token is None:
            raise NotThere("There is no such token among those you may see.")
        revoked = revoke_token(self.act(), token)
        return self.shown(self.plan().rows(AccessToken.objects.filter(pk=revoked.pk))[0])
