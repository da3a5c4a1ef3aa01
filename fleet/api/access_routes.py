"""The addresses of keys, people, invitations, sessions and events at the door."""

from __future__ import annotations

from django.urls import URLPattern, path
from rest_framework.routers import SimpleRouter

from fleet.api import access

COLLECTIONS = {
    "keys": access.KeyViewSet,
    "users": access.UserViewSet,
    "invitations": access.InvitationViewSet,
    "sessions": access.SessionViewSet,
    "access-events": access.AccessEventViewSet,
}


def access_addresses() -> list[URLPattern]:
    """Return the addresses of who may come in, below /api/v1/."""
    router = SimpleRouter(trailing_slash=False, use_regex_path=False)
    for noun, view in COLLECTIONS.items():
        router.register(noun, view, basename=noun)
    key, user = access.KeyViewSet.as_view, access.UserViewSet.as_view
    invited, session = access.InvitationViewSet.as_view, access.SessionViewSet.as_view
    return [
        *router.urls,
        path("keys/<uuid:uuid>/rotate", key({"post": "rotate"})),
        path("keys/<uuid:uuid>/revoke", key({"post": "revoke"})),
        path("users/<uuid:uuid>/close", user({"post": "close"})),
        path("users/<uuid:uuid>/open", user({"post": "open"})),
        path("users/<uuid:uuid>/remove-factor", user({"post": "remove_factor"})),
        path("invitations/<uuid:uuid>/withdraw", invited({"post": "withdraw"})),
        path("sessions/<uuid:uuid>/end", session({"post": "end"})),
    ]
