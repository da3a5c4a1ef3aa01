"""Empty what was written to owners who have been erased since."""

from __future__ import annotations

from collections.abc import Mapping

from django.db import transaction

from fleet.actions.erasure import ERASED_NAME
from jobs.models import Message, StoppedAddress, Wish
from jobs.work import Effect, Work

KIND = "forget_erased"


def forget_erased(work: Work) -> Effect:
    """Empty addresses, subjects and texts of messages to erased owners."""

    def effect() -> Mapping[str, object]:
        return {"messages": empty_messages_to_erased()}

    return effect


def empty_messages_to_erased() -> int:
    """Empty them, the addresses that were stopped, and the numbers for texts."""
    erased = Message.objects.filter(owner__name=ERASED_NAME, owner__email="")
    with transaction.atomic():
        written = erased.exclude(address="", text="", subject="")
        StoppedAddress.objects.filter(message__in=written).delete()
        pks = list(written.values_list("pk", flat=True))
        emptied = Message.objects.filter(pk__in=pks).update(
            address="", subject="", text="", reason=""
        )
        Wish.objects.filter(owner__name=ERASED_NAME).update(
            text_number="", text_consent_at=None, text_consent_how=""
        )
    return emptied
