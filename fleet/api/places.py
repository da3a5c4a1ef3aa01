"""Where coaches were last seen, for a map (GeoJSON, RFC 7946)."""

from __future__ import annotations

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import Lists, RegisterViewSet
from fleet.api.coaches import CoachFilters
from fleet.api.paging import KeysetPagination
from fleet.api.rendering import FastJSONRenderer
from fleet.api.shape import PlainOut
from fleet.models import Coach
from fleet.selectors.places import last_places
from fleet.selectors.scopes import coaches_visible_to


class GeoJSONRenderer(FastJSONRenderer):
    """A feature collection."""

    media_type = "application/geo+json"
    format = "geojson"


class PointOut(PlainOut):
    """A point: longitude, then latitude (WGS 84)."""

    type = serializers.ChoiceField(["Point"])
    coordinates = serializers.ListField(
        child=serializers.FloatField(), min_length=2, max_length=2
    )


class PlacedCoachOut(PlainOut):
    """What a map tells of a coach."""

    unit_no = serializers.CharField()
    make = serializers.CharField()
    model = serializers.CharField()
    town = serializers.CharField()
    state = serializers.CharField()
    seen_at = serializers.DateTimeField(allow_null=True)


class FeatureOut(PlainOut):
    """One coach. Without a place it is a feature that is not located."""

    type = serializers.ChoiceField(["Feature"])
    id = serializers.UUIDField()
    geometry = PointOut(allow_null=True)
    properties = PlacedCoachOut()


class FeaturesOut(PlainOut):
    """A page of coaches; ``next`` leads on."""

    type = serializers.ChoiceField(["FeatureCollection"])
    next = serializers.CharField(allow_null=True)
    features = FeatureOut(many=True)


class FeaturePages(KeysetPagination):
    """Pages that are collections of features themselves."""

    def get_paginated_response_schema(
        self, schema: dict[str, object]
    ) -> dict[str, object]:
        """Return the shape of a page: the collection."""
        page: dict[str, object] = schema["items"]  # type: ignore[assignment]  # one shape
        return page


class CoachPlacesViewSet(Lists, RegisterViewSet):
    """Coaches on a map, where a photo of theirs was last taken.

    Only the staff learn the place of a photo: to others a coach is not located.
    """

    serializer_class = FeaturesOut
    filterset_class = CoachFilters
    pagination_class = FeaturePages
    renderer_classes = (GeoJSONRenderer, FastJSONRenderer)
    answers = {
        "list": {
            ("200", GeoJSONRenderer.media_type): FeaturesOut,
            ("200", FastJSONRenderer.media_type): FeaturesOut,
        }
    }
    noun = "coach-places"

    def get_queryset(self) -> QuerySet[Coach]:
        """Return the coaches in the caller's scope."""
        return coaches_visible_to(self.caller.scope)

    def list(self, request: Request) -> Response:
        """Return a page of coaches as features."""
        page = self.paginate_queryset(self.filter_queryset(self.get_queryset()))
        told = self.caller.sees_everything
        places = last_places([coach.pk for coach in page]) if told else {}
        paged = self.get_paginated_response([])
        features = [_feature(coach, places.get(coach.pk)) for coach in page]
        body = {
            "type": "FeatureCollection",
            "next": paged.data["next"],
            "features": features,
        }
        return Response(body, headers=dict(paged.headers.items()))


def _feature(coach: Coach, place: object) -> dict[str, object]:
    return {
        "type": "Feature",
        "id": str(coach.uuid),
        "geometry": place
        and {
            "type": "Point",
            "coordinates": [place.longitude, place.latitude],  # type: ignore[attr-defined]  # a Place
        },
        "properties": {
            "unit_no": coach.unit_no,
            "make": coach.make,
            "model": coach.model,
            "town": coach.town,
            "state": coach.state,
            "seen_at": place.at if place else None,  # type: ignore[attr-defined]  # a Place
        },
    }
