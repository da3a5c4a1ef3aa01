"""Keys, people, invitations, sessions, and what happened at the door."""

from __future__ import annotations

import django_filters
from django.conf import settings
from django.db.models import QuerySet
from django.urls import reverse
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.actions.api_keys import LONGEST_DAYS, make_key, revoke_key, rotate_key
from fleet.actions.invitations import close_user, invite, open_user, withdraw
from fleet.actions.second_factor import remove_factor
from fleet.actions.sessions import end_session
from fleet.api.base import Lists, RegisterViewSet, named
from fleet.api.caller import Permit
from fleet.api.shape import In, Out, PlainOut, word
from fleet.api.sign_in import address_of
from fleet.models import (
    AccessEvent,
    AccessKind,
    ApiKey,
    ApiKeySecret,
    Invitation,
    KeyRight,
    Role,
    Session,
    User,
)
from fleet.selectors.access import (
    access_events_visible_to,
    invitations_visible_to,
    keys_visible_to,
    live_sessions,
    sessions_visible_to,
    users_visible_to,
)
from fleet.selectors.scopes import owners_visible_to

LONGEST_OVERLAP_HOURS = 30 * 24


class KeyIn(In):
    """What a new key is for and what it may do."""

    name = word(60, required=True)
    owner = serializers.UUIDField()
    rights = serializers.ListField(
        child=serializers.ChoiceField(KeyRight.choices), min_length=1, max_length=3
    )
    days = serializers.IntegerField(min_value=1, max_value=LONGEST_DAYS)


class KeyRotateIn(In):
    """How long the new secret is good, and how long the old one still opens."""

    days = serializers.IntegerField(min_value=1, max_value=LONGEST_DAYS)
    keep_old_hours = serializers.IntegerField(
        min_value=0, max_value=LONGEST_OVERLAP_HOURS
    )


class KeySecretOut(Out):
    """One secret of a key, by its beginning; the secret itself is not kept."""

    class Meta:
        model = ApiKeySecret
        fields = ("prefix", "made_at", "expires_at", "ended_at", "last_used_at")


class KeyOut(Out):
    """A fleet's key."""

    owner = serializers.UUIDField(source="owner.uuid")
    rights = serializers.ListField(child=serializers.ChoiceField(KeyRight.choices))
    secrets = serializers.SerializerMethodField()

    class Meta:
        model = ApiKey
        fields = ("uuid", "name", "owner", "rights", "made_at", "revoked_at", "secrets")

    @extend_schema_field(KeySecretOut(many=True))
    def get_secrets(self, key: ApiKey) -> list[object]:
        """Its secrets, the oldest first."""
        rows = sorted(key.secrets.all(), key=lambda each: each.pk)
        told: list[object] = KeySecretOut(rows, many=True).data
        return told


class KeyToldOut(PlainOut):
    """A key with the secret just made, which is told this once."""

    key = KeyOut()
    secret = serializers.CharField()


class KeyFilters(django_filters.FilterSet):
    """What keys can be narrowed by."""

    owner = django_filters.UUIDFilter(field_name="owner__uuid")


class KeyViewSet(Lists, RegisterViewSet):
    """Keys of fleets' own programs, for the office and the fleet's managers."""

    serializer_class = KeyOut
    filterset_class = KeyFilters
    keyset = ("-pk",)
    permits = dict.fromkeys(
        ("list", "retrieve", "create", "rotate", "revoke"), Permit.LOOK_AFTER
    )
    bodies = {"create": KeyIn, "rotate": KeyRotateIn}
    answers = {"create": KeyToldOut, "rotate": KeyToldOut}

    def get_queryset(self) -> QuerySet[ApiKey]:
        """Return the keys that the caller looks after."""
        return keys_visible_to(self.caller.scope)

    def create(self, request: Request) -> Response:
        """Make a key and tell its secret, once."""
        body = self.body(request)
        fleets = owners_visible_to(self.caller.scope)
        owner = named(fleets, body.pop("owner"), "owner")
        key, secret = make_key(
            owner=owner,  # type: ignore[arg-type]  # an Owner
            by=self.caller.user,  # type: ignore[arg-type]  # signed in
            now=self.caller.now,
            **body,  # type: ignore[arg-type]  # shape checked
        )
        headers = {"Location": f"{request.path}/{key.uuid}"}
        told = {"key": key, "secret": secret}
        return self.answer(told, status=201, headers=headers)

    def rotate(self, request: Request, uuid: object) -> Response:
        """Give a key a further secret; the one before opens a while longer."""
        key: ApiKey = self.get_object()  # type: ignore[assignment]  # a key
        secret = rotate_key(
            key=key,
            by=self.caller.user,  # type: ignore[arg-type]  # signed in
            now=self.caller.now,
            **self.body(request),  # type: ignore[arg-type]  # shape checked
        )
        return self.answer({"key": self.get_object(), "secret": secret})

    def revoke(self, request: Request, uuid: object) -> Response:
        """Refuse a key from now on."""
        key: ApiKey = self.get_object()  # type: ignore[assignment]  # a key
        revoke_key(key=key, by=self.caller.user, now=self.caller.now)  # type: ignore[arg-type]  # signed in
        return self.answer(self.get_object())


class UserOut(Out):
    """A person who signs in."""

    name = serializers.CharField(source="__str__")
    owner = serializers.UUIDField(source="owner.uuid", default=None, allow_null=True)
    has_second_factor = serializers.SerializerMethodField()

    class Meta:
        model = User
        fields = (
            "uuid",
            "username",
            "name",
            "email",
            "role",
            "owner",
            "is_active",
            "has_second_factor",
            "last_login",
        )

    def get_has_second_factor(self, user: User) -> bool:
        """Whether a code is asked for after the password."""
        factor = getattr(user, "second_factor", None)
        return factor is not None and factor.confirmed_at is not None


class UserFilters(django_filters.FilterSet):
    """What people can be narrowed by."""

    role = django_filters.ChoiceFilter(choices=Role.choices)
    is_active = django_filters.BooleanFilter()


class UserViewSet(Lists, RegisterViewSet):
    """People who sign in: all for the office, those of the fleet for its managers."""

    serializer_class = UserOut
    filterset_class = UserFilters
    permits = {
        "list": Permit.LOOK_AFTER,
        "retrieve": Permit.LOOK_AFTER,
        "close": Permit.LOOK_AFTER,
        "open": Permit.LOOK_AFTER,
        "remove_factor": Permit.OFFICE,
    }

    def get_queryset(self) -> QuerySet[User]:
        """Return the people that the caller looks after."""
        return users_visible_to(self.caller.scope)

    def close(self, request: Request, uuid: object) -> Response:
        """Refuse a person from now on and end their sessions."""
        user: User = self.get_object()  # type: ignore[assignment]  # a person
        close_user(user=user, by=self.caller.user, now=self.caller.now)  # type: ignore[arg-type]  # signed in
        return self.answer(self.get_object())

    def open(self, request: Request, uuid: object) -> Response:
        """Let a person sign in again."""
        user: User = self.get_object()  # type: ignore[assignment]  # a person
        open_user(user=user, by=self.caller.user, now=self.caller.now)  # type: ignore[arg-type]  # signed in
        return self.answer(self.get_object())

    def remove_factor(self, request: Request, uuid: object) -> Response:
        """Take a lost second factor away."""
        user: User = self.get_object()  # type: ignore[assignment]  # a person
        remove_factor(
            user=user,
            by=self.caller.user,  # type: ignore[arg-type]  # signed in
            address=address_of(request),
            now=self.caller.now,
        )
        return self.answer(self.get_object())


class InvitationIn(In):
    """Whom to invite, and as what. A manager's guests belong to the own fleet."""

    name = word(150, required=True)
    email = serializers.EmailField(max_length=254)
    role = serializers.ChoiceField(Role.choices, default=Role.FLEET_MANAGER)
    owner = serializers.UUIDField(required=False)


class InvitationOut(Out):
    """An invitation. Its link is told once, when it is made."""

    owner = serializers.UUIDField(source="owner.uuid", default=None, allow_null=True)

    class Meta:
        model = Invitation
        fields = (
            "uuid",
            "name",
            "email",
            "role",
            "owner",
            "invited_at",
            "expires_at",
            "accepted_at",
            "withdrawn_at",
        )


class InvitationToldOut(PlainOut):
    """An invitation with its link, which is told this once."""

    invitation = InvitationOut()
    link = serializers.CharField()


class InvitationViewSet(Lists, RegisterViewSet):
    """Invitations. The invited person opens the link and chooses a password."""

    serializer_class = InvitationOut
    keyset = ("-pk",)
    permits = dict.fromkeys(
        ("list", "retrieve", "create", "withdraw"), Permit.LOOK_AFTER
    )
    bodies = {"create": InvitationIn}
    answers = {"create": InvitationToldOut}

    def get_queryset(self) -> QuerySet[Invitation]:
        """Return the invitations that the caller looks after."""
        return invitations_visible_to(self.caller.scope)

    def create(self, request: Request) -> Response:
        """Invite somebody and tell the link, once."""
        body = self.body(request)
        asked = body.pop("owner", None)
        fleets = owners_visible_to(self.caller.scope)
        made, secret = invite(
            owner=named(fleets, asked, "owner") if asked else None,  # type: ignore[arg-type]  # an Owner
            by=self.caller.user,  # type: ignore[arg-type]  # signed in
            now=self.caller.now,
            **body,  # type: ignore[arg-type]  # shape checked
        )
        link = settings.SITE_URL + reverse("invitation", args=[secret])
        headers = {"Location": f"{request.path}/{made.uuid}"}
        told = {"invitation": made, "link": link}
        return self.answer(told, status=201, headers=headers)

    def withdraw(self, request: Request, uuid: object) -> Response:
        """Take an invitation back."""
        made: Invitation = self.get_object()  # type: ignore[assignment]  # an invitation
        withdraw(invitation=made, by=self.caller.user, now=self.caller.now)  # type: ignore[arg-type]  # signed in
        return self.answer(self.get_object())


class SessionOut(Out):
    """A browser that is signed in."""

    user = serializers.UUIDField(source="user.uuid")

    class Meta:
        model = Session
        fields = ("uuid", "user", "began_at", "seen_at", "address", "program")


class SessionViewSet(Lists, RegisterViewSet):
    """Sessions: one's own; for the office everybody's."""

    serializer_class = SessionOut
    keyset = ("-began_at", "uuid")
    permits = dict.fromkeys(("list", "retrieve", "end"), Permit.LOOK_AFTER)

    def get_queryset(self) -> QuerySet[Session]:
        """Return the sessions that the caller may end."""
        found = sessions_visible_to(self.caller.scope)
        return live_sessions(found, now=self.caller.now)

    def end(self, request: Request, uuid: object) -> Response:
        """Sign a browser out."""
        session: Session = self.get_object()  # type: ignore[assignment]  # a session
        end_session(
            session=session,
            by=self.caller.user,  # type: ignore[arg-type]  # signed in
            address=address_of(request),
            now=self.caller.now,
        )
        return self.answer(session)


class AccessEventOut(Out):
    """One event at the door: a sign-in, a refusal, a key's use or change."""

    user = serializers.UUIDField(source="user_uuid", allow_null=True)
    about = serializers.UUIDField(source="about_uuid", allow_null=True)

    class Meta:
        model = AccessEvent
        fields = (
            "uuid",
            "at",
            "kind",
            "user",
            "user_name",
            "address",
            "about",
            "detail",
        )


class AccessEventFilters(django_filters.FilterSet):
    """What events at the door can be narrowed by."""

    kind = django_filters.ChoiceFilter(choices=AccessKind.choices)
    user = django_filters.UUIDFilter(field_name="user_uuid")


class AccessEventViewSet(Lists, RegisterViewSet):
    """What happened at the door, the newest first. Never changed, never removed."""

    serializer_class = AccessEventOut
    filterset_class = AccessEventFilters
    keyset = ("-pk",)
    permits = dict.fromkeys(("list", "retrieve"), Permit.LOOK_AFTER)

    def get_queryset(self) -> QuerySet[AccessEvent]:
        """Return the events that the caller may see."""
        return access_events_visible_to(self.caller.scope)
