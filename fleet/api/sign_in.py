"""How a caller shows who they are: a key, a signed-in session, or name and password."""

from __future__ import annotations

from django.conf import settings
from django.utils import timezone
from drf_spectacular.extensions import OpenApiAuthenticationExtension
from rest_framework.authentication import (
    BaseAuthentication,
    BasicAuthentication,
    SessionAuthentication,
)
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request

from fleet.actions.api_keys import KeyRefused, key_of
from fleet.actions.second_factor import has_factor
from fleet.actions.sign_in import REFUSAL, SignInRefused, check_password
from fleet.client_address import client_address
from fleet.models import ApiKey, Role, User

REALM = 'Basic realm="roof register", charset="UTF-8"'
CHALLENGE = f'{REALM}, Bearer realm="roof register"'
BEARER = "bearer"


class KeySignIn(BaseAuthentication):
    """A fleet's key, as a bearer token (RFC 6750).

    It stands first, so its challenge decides that strangers get 401 (RFC 9110, 11.6.1).
    """

    def authenticate(self, request: Request) -> tuple[User, ApiKey] | None:
        """Return the key's own user and the key, or None when none was sent.

        Raises:
            AuthenticationFailed: the key is not valid.
            TooManyTries: this network sent too many that are not.
        """
        scheme, _, word = request.headers.get("Authorization", "").partition(" ")
        if scheme.lower() != BEARER:
            return None
        address, now = address_of(request), timezone.now()
        try:
            key = key_of(word=word.strip(), address=address, now=now)
        except KeyRefused as refusal:
            raise AuthenticationFailed(refusal.message) from None
        return key.user, key

    def authenticate_header(self, request: Request) -> str:
        """Return the challenge of a 401."""
        return CHALLENGE


class SessionSignIn(SessionAuthentication):
    """The session of the pages, with its form token on every write."""


class PasswordSignIn(BasicAuthentication):
    """Name and password with each request; not for who has a second factor."""

    def authenticate_credentials(
        self, userid: str, password: str, request: Request | None = None
    ) -> tuple[User, None]:
        """Return the person whose name and password these are.

        Raises:
            AuthenticationFailed: wrong, or a second factor is needed: not told which.
            TooManyTries: the name or the network was tried too often.
        """
        address = address_of(request) if request is not None else ""
        try:
            user = check_password(
                name=userid, password=password, address=address, now=timezone.now()
            )
        except SignInRefused:
            raise AuthenticationFailed(REFUSAL) from None
        asked_for = settings.REQUIRE_SECOND_FACTOR and user.role == Role.OFFICE
        if asked_for or has_factor(user):
            raise AuthenticationFailed(REFUSAL)
        return user, None


class KeyInDocument(OpenApiAuthenticationExtension):
    """How the document describes a key."""

    target_class = KeySignIn
    name = "key"

    def get_security_definition(self, auto_schema: object) -> dict[str, str]:
        """Return the bearer token."""
        return {
            "type": "http",
            "scheme": "bearer",
            "description": (
                "A fleet's key: `rr_<prefix>_<secret>`. Its rights say what it may do: "
                "`read` for GET, `write` for what a fleet asks for, `claims` for its "
                "claims."
            ),
        }


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


class PasswordInDocument(OpenApiAuthenticationExtension):
    """How the document describes name and password."""

    target_class = PasswordSignIn
    name = "basicAuth"

    def get_security_definition(self, auto_schema: object) -> dict[str, str]:
        """Return basic authentication (RFC 7617)."""
        return {"type": "http", "scheme": "basic"}


def address_of(request: Request) -> str:
    """Return the address a request comes from."""
    return client_address(request.META, trusted=settings.TRUSTED_PROXIES)


def key_behind(request: Request) -> ApiKey | None:
    """Return the key by which a request was signed in, or None."""
    return request.auth if isinstance(request.auth, ApiKey) else None


SIGN_INS = (KeySignIn, SessionSignIn, PasswordSignIn)
