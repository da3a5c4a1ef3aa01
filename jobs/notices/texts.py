"""Text messages go through an adapter that the office names; by default there is no
one."""

from __future__ import annotations

from typing import Protocol

from django.conf import settings
from django.utils.module_loading import import_string

from jobs.notices.transport import Outcome


class TextGateway(Protocol):
    """What an adapter does. It is made without arguments, once a message."""

    def send(self, *, number: str, text: str, reference: str) -> Outcome:
        """Hand a text over under a reference that stays the same at every try."""
        ...


def gateway() -> TextGateway | None:
    """Return the adapter that ``ROOFREG_TEXT_GATEWAY`` names, or none."""
    if not settings.TEXT_GATEWAY:
        return None
    made: TextGateway = import_string(settings.TEXT_GATEWAY)()
    return made
