"""How a caller shows who they are: a signed-in session, or name and password."""

from __future__ import annotations

from django.conf import settings
from drf_spectacular.extensions import OpenApiAuthenticationExtension
from rest_framework.authentication import BasicAuthentication, SessionAuthentication
from rest_framework.request import Request

REALM = 'Basic realm="roof register", charset="UTF-8"'


class SessionSignIn(SessionAuthentication):
    """The session of the pages, with its form token on every write.

    It stands first, so its challenge decides that strangers get 401 (RFC 9110, 11.6.1).
    """

    def authenticate_header(self, request: Request) -> str:
        """Return the challenge of a 401."""
        return REALM


class SessionSignInInDocument(OpenApiAuthenticationExtension):
    """How the document describes the session."""

    target_class = SessionSignIn
    name = "session"

    def get_security_definition(self, auto_schema: object) -> dict[str, str]:
        """Return the cookie that a signed-in page has."""
        return {
            "type": "apiKey",
            "in": "cookie",
            "name": settings.SESSION_COOKIE_NAME,
            "description": "Writes also need X-CSRFToken with the cookie's value.",
        }


SIGN_INS = (SessionSignIn, BasicAuthentication)
