"""An address that fails, for the test of what it tells."""

from __future__ import annotations

from django.urls import path
from rest_framework.decorators import api_view, permission_classes
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response

handler500 = "fleet.api.outside.server_error"


@api_view(["GET"])
@permission_classes([AllowAny])
def failing(request: Request) -> Response:
    raise RuntimeError("secret inner words")


urlpatterns = [path("api/v1/failing", failing)]
