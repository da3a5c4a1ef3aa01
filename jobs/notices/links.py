"""Addresses that open without a sign-in, because only who got the mail knows them."""

from __future__ import annotations

from urllib.parse import urlsplit

from django.conf import settings
from django.core import signing
from django.urls import reverse

_SHOW, _STOP = "notices.show", "notices.stop"


def host() -> str:
    """Return the name that message ids and calendar ids end with."""
    return urlsplit(settings.SITE_URL).hostname or "localhost"


def show_url(message_uuid: object) -> str:
    """Return where a message is read."""
    token = signing.dumps(str(message_uuid), salt=_SHOW)
    return settings.SITE_URL + reverse("notice-show", args=[token])


def shown(token: str) -> str | None:
    """Return the message's uuid that a link was made for, or nothing."""
    return _loaded(token, _SHOW)


def stop_url(owner_uuid: object) -> str:
    """Return where an owner stops reminders."""
    token = signing.dumps(str(owner_uuid), salt=_STOP)
    return settings.SITE_URL + reverse("notice-stop", args=[token])


def stopped(token: str) -> str | None:
    """Return the owner's uuid that a link was made for, or nothing."""
    return _loaded(token, _STOP)


def _loaded(token: str, salt: str) -> str | None:
    try:
        return str(signing.loads(token, salt=salt))
    except signing.BadSignature:
        return None
