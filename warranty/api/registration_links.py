"""Links that an owner registers a coverage by."""

from __future__ import annotations

from django.urls import reverse
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import RegisterViewSet, named
from fleet.api.caller import Permit
from fleet.api.shape import In, PlainOut
from fleet.selectors.scopes import roofs_visible_to
from warranty.actions.registration_links import make_link


class RegistrationLinkIn(In):
    """For which roof."""

    roof = serializers.UUIDField()


class RegistrationLinkOut(PlainOut):
    """A link to hand to the owner. It is told this once, works once, and ends."""

    uuid = serializers.UUIDField()
    roof = serializers.UUIDField()
    address = serializers.URLField()
    expires_at = serializers.DateTimeField()


class RegistrationLinkViewSet(RegisterViewSet):
    """Links by which owners register coverages; a new one ends those before it."""

    serializer_class = RegistrationLinkOut
    permits = {"create": Permit.OFFICE}
    bodies = {"create": RegistrationLinkIn}

    def create(self, request: Request) -> Response:
        """Make a link for the owner of a roof."""
        roofs = roofs_visible_to(self.caller.scope)
        roof = named(roofs, self.body(request)["roof"], "roof")
        made = make_link(roof=roof, by=self.caller.user, now=self.caller.now)  # type: ignore[arg-type]  # signed in
        told = {
            "uuid": made.link.uuid,
            "roof": made.link.roof.uuid,
            "address": request.build_absolute_uri(
                reverse("owner-registration", args=[made.code])
            ),
            "expires_at": made.link.expires_at,
        }
        return self.answer(told, status=201)
