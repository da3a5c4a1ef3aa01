"""Notices: who was told what about which date, and whether it arrived."""

from __future__ import annotations

import django_filters
from django.db.models import QuerySet
from rest_framework import serializers

from fleet.api.base import Lists, RegisterViewSet
from fleet.api.shape import Out
from jobs.models import MessageState, Notice
from jobs.notices.selectors import notices_visible_to
from warranty.rules.ladder import Step

STEP_CHOICES = [(step.value, step.value) for step in Step]


class NoticeOut(Out):
    """One step told to one owner about one date. ``by_on`` is the last day to act."""

    owner = serializers.UUIDField(source="owner.uuid")
    roof = serializers.UUIDField(source="roof.uuid")
    unit_no = serializers.CharField(source="roof.coach.unit_no")
    claim = serializers.UUIDField(source="claim.uuid", allow_null=True, default=None)
    step = serializers.ChoiceField(STEP_CHOICES)
    message_state = serializers.ChoiceField(
        MessageState.choices, source="message.state"
    )
    send_at = serializers.DateTimeField(source="message.send_at")
    sent_at = serializers.DateTimeField(source="message.sent_at", allow_null=True)

    class Meta:
        model = Notice
        fields = (
            "uuid",
            "owner",
            "roof",
            "unit_no",
            "claim",
            "step",
            "news",
            "about_on",
            "by_on",
            "is_moot",
            "message_state",
            "send_at",
            "sent_at",
            "noted_at",
        )


class NoticeFilters(django_filters.FilterSet):
    """What notices can be narrowed by."""

    step = django_filters.ChoiceFilter(choices=STEP_CHOICES)
    roof = django_filters.UUIDFilter(field_name="roof__uuid")
    message_state = django_filters.ChoiceFilter(
        field_name="message__state", choices=MessageState.choices
    )


class NoticeViewSet(Lists, RegisterViewSet):
    """Notices, the newest first. After a sale each holder sees their own."""

    serializer_class = NoticeOut
    filterset_class = NoticeFilters
    keyset = ("-pk",)

    def get_queryset(self) -> QuerySet[Notice]:
        """Return the notices in the caller's scope."""
        return notices_visible_to(self.caller.scope)
