"""What people are told, by which message, and what became of it."""

from __future__ import annotations

import uuid

from django.db import models
from django.db.models import F, Q

from warranty.rules.ladder import Step


class MessageState(models.TextChoices):
    WAITING = "WAITING", "waiting"
    SENDING = "SENDING", "being sent"
    SENT = "SENT", "sent"
    # Handed over, and no answer came: it may have arrived. A person decides.
    UNCERTAIN = "UNCERTAIN", "not known whether it arrived"
    REFUSED = "REFUSED", "refused"
    BOUNCED = "BOUNCED", "came back"
    STOPPED = "STOPPED", "address is stopped"
    UNREACHABLE = "UNREACHABLE", "no address"
    SILENCED = "SILENCED", "reminders not wanted"
    MOOT = "MOOT", "no longer needed"


# Handed to a server at least once.
ATTEMPTED = (
    MessageState.SENDING,
    MessageState.SENT,
    MessageState.UNCERTAIN,
    MessageState.BOUNCED,
)
# Somebody has to look: the person has not been told, or we cannot know.
NEEDS_A_LOOK = (
    MessageState.UNCERTAIN,
    MessageState.REFUSED,
    MessageState.BOUNCED,
    MessageState.STOPPED,
    MessageState.UNREACHABLE,
)


class Channel(models.TextChoices):
    EMAIL = "EMAIL", "e-mail"
    TEXT = "TEXT", "text message"


class Language(models.TextChoices):
    ENGLISH = "en", "English"
    SPANISH = "es", "Spanish"


class NoticeWatch(models.Model):
    """When a roof has to be looked at for notices again, and the standing last told.
    A projection, rewritten at each look; the sweep reads only what is due."""

    roof = models.OneToOneField(
        "fleet.Roof", models.PROTECT, primary_key=True, related_name="notice_watch"
    )
    look_at = models.DateTimeField(null=True, blank=True)
    # What came before is history: nobody is told of it.
    since_at = models.DateTimeField()
    word = models.CharField(max_length=12, blank=True)

    class Meta:
        indexes = [
            models.Index(
                name="notice_watch_by_look",
                fields=["look_at", "roof"],
                condition=Q(look_at__isnull=False),
            )
        ]


class Message(models.Model):
    """One message to one owner: about one roof, or a digest over a fleet. Never
    deleted; its text goes when the owner is erased."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    owner = models.ForeignKey("fleet.Owner", models.PROTECT, related_name="messages")
    # Empty: a digest.
    roof = models.ForeignKey(
        "fleet.Roof", models.PROTECT, null=True, blank=True, related_name="messages"
    )
    channel = models.CharField(max_length=5, choices=Channel, default=Channel.EMAIL)
    state = models.CharField(
        max_length=11, choices=MessageState, default=MessageState.WAITING
    )
    language = models.CharField(
        max_length=2, choices=Language, default=Language.ENGLISH
    )
    send_at = models.DateTimeField()
    # As it was sent: address, subject and plain text.
    address = models.CharField(max_length=254, blank=True)
    subject = models.CharField(max_length=200, blank=True)
    text = models.TextField(blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    attempted_at = models.DateTimeField(null=True, blank=True)
    # Set right before the text goes out: from here on it may have arrived.
    handed_at = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    reason = models.TextField(blank=True)
    created_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="message_state_known", condition=Q(state__in=MessageState.values)
            ),
            models.CheckConstraint(
                name="message_channel_known", condition=Q(channel__in=Channel.values)
            ),
            models.CheckConstraint(
                name="message_language_known",
                condition=Q(language__in=Language.values),
            ),
            models.CheckConstraint(
                name="message_sent_has_its_time",
                condition=~Q(state=MessageState.SENT) | Q(sent_at__isnull=False),
            ),
            models.CheckConstraint(
                name="message_attempt_has_its_time",
                condition=~Q(state__in=ATTEMPTED) | Q(attempted_at__isnull=False),
            ),
            models.CheckConstraint(
                name="message_handed_over_in_an_attempt",
                condition=Q(handed_at__isnull=True)
                | Q(attempted_at__isnull=False, handed_at__gte=F("attempted_at")),
            ),
        ]
        indexes = [
            models.Index(name="message_newest_of_owner", fields=["owner", "-id"]),
            models.Index(name="message_by_state", fields=["state", "send_at"]),
        ]


class Notice(models.Model):
    """One step told to one person about one date of one roof. Never deleted."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    owner = models.ForeignKey("fleet.Owner", models.PROTECT, related_name="notices")
    roof = models.ForeignKey("fleet.Roof", models.PROTECT, related_name="notices")
    step = models.CharField(
        max_length=16, choices=[(step.value, step.value) for step in Step]
    )
    about_on = models.DateField()
    by_on = models.DateField(null=True, blank=True)
    # Which claim news it is; empty for all other steps.
    key = models.CharField(max_length=80, blank=True)
    claim = models.ForeignKey(
        "warranty.Claim",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="notices",
    )
    # What the news is: the move a claim made.
    news = models.CharField(max_length=16, blank=True)
    message = models.ForeignKey(Message, models.PROTECT, related_name="notices")
    text_message = models.ForeignKey(
        Message,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="text_notices",
    )
    # Left out when the message was written: by then it was no longer true.
    is_moot = models.BooleanField(default=False)
    noted_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="notice_once_per_roof_step_date_person",
                fields=["roof", "step", "about_on", "owner", "key"],
            ),
            models.CheckConstraint(
                name="notice_step_known",
                condition=Q(step__in=[step.value for step in Step]),
            ),
            models.CheckConstraint(
                name="notice_claim_with_its_news",
                condition=Q(step=Step.CLAIM.value, claim__isnull=False)
                & ~Q(key="")
                & ~Q(news="")
                | (~Q(step=Step.CLAIM.value) & Q(claim__isnull=True, key="", news="")),
            ),
        ]
        indexes = [models.Index(name="notice_newest_of_owner", fields=["owner", "-id"])]


class Wish(models.Model):
    """How an owner wants to be written to; without a row: in English, by e-mail."""

    owner = models.OneToOneField(
        "fleet.Owner", models.PROTECT, primary_key=True, related_name="wish"
    )
    language = models.CharField(
        max_length=2, choices=Language, default=Language.ENGLISH
    )
    reminders_off_at = models.DateTimeField(null=True, blank=True)
    # Text messages need a number and a consent, and who took it how.
    text_number = models.CharField(max_length=20, blank=True)
    text_consent_at = models.DateTimeField(null=True, blank=True)
    text_consent_how = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="wish_language_known", condition=Q(language__in=Language.values)
            ),
            models.CheckConstraint(
                name="wish_consent_with_number_and_how",
                condition=(
                    Q(text_consent_at__isnull=False)
                    & ~Q(text_number="")
                    & ~Q(text_consent_how="")
                )
                | Q(text_consent_at__isnull=True, text_number="", text_consent_how=""),
            ),
        ]


class StopCause(models.TextChoices):
    BOUNCED = "BOUNCED", "mail came back"
    COMPLAINT = "COMPLAINT", "mail was reported as unwanted"
    REFUSED = "REFUSED", "the server does not know the address"


class StoppedAddress(models.Model):
    """An address that nothing is sent to any more, until the office lets it go."""

    address = models.CharField(max_length=254)
    cause = models.CharField(max_length=9, choices=StopCause)
    detail = models.TextField(blank=True)
    message = models.ForeignKey(
        Message, models.PROTECT, null=True, blank=True, related_name="stops"
    )
    stopped_at = models.DateTimeField()
    released_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="stopped_address_given", condition=~Q(address="")
            ),
            models.CheckConstraint(
                name="stopped_address_cause_known",
                condition=Q(cause__in=StopCause.values),
            ),
            models.UniqueConstraint(
                name="stopped_address_once",
                fields=["address"],
                condition=Q(released_at__isnull=True),
            ),
        ]
