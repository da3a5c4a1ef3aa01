"""Photos and files that show what a roof was like, and the bytes behind them."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from fleet.exhibits.clocks import ClockDoubt, clock_doubts
from fleet.exhibits.exif import Capture, parsed_time
from fleet.exhibits.matching import Basis
from fleet.exhibits.sniff import MediaType
from fleet.models.base import RoofFact, record_constraints

SHA256 = r"^[0-9a-f]{64}$"
MEDIA_TYPES = [(kind.value, kind.value) for kind in MediaType]


class ExhibitKind(models.TextChoices):
    PHOTO = "PHOTO", "photo"
    DOCUMENT = "DOCUMENT", "document"
    SIGN_OFF = "SIGN_OFF", "sign-off"


class SignerRole(models.TextChoices):
    """In which role somebody signed a sign-off."""

    OWNER = "OWNER", "owner"
    TECHNICIAN = "TECHNICIAN", "technician"


class MatchedBy(models.TextChoices):
    """Who said that an exhibit belongs to its visit."""

    SENDER = "SENDER", "its sender"
    DAY = Basis.DAY.value, "the only visit of its day"
    DAY_AND_PLACE = Basis.DAY_AND_PLACE.value, "its day and place"
    OFFICE = "OFFICE", "the office"


class Exhibit(RoofFact):
    """One photo or file about a roof, named by the hash of its original bytes.

    Times and place are what the file and the device claim; ``recorded_at`` is when the
    register had every byte on disk.
    """

    ledger_fields = (
        "sha256",
        "size_bytes",
        "media_type",
        "kind",
        "visit",
        "finding",
        "claim",
        "claim_holder",
        "penetration_label",
        "caption",
        "taken_local",
        "taken_offset_min",
        "taken_at",
        "place",
        "device_at",
        "device_offset_min",
        "matched_by",
        # Added later: empty they are left out, so that older entries still verify.
        "x_m",
        "y_m",
        "after_of",
        "signer_role",
    )

    sha256 = models.CharField(max_length=64)
    size_bytes = models.PositiveBigIntegerField()
    media_type = models.CharField(max_length=32, choices=MEDIA_TYPES)
    kind = models.CharField(max_length=8, choices=ExhibitKind)
    visit = models.ForeignKey(
        "fleet.Visit", models.PROTECT, null=True, blank=True, related_name="exhibits"
    )
    finding = models.ForeignKey(
        "fleet.Finding", models.PROTECT, null=True, blank=True, related_name="exhibits"
    )
    # A claim's uuid; claims live in the room above. Of the owners only the claim's
    # holder sees it, also after the coach is sold.
    claim = models.UUIDField(null=True, blank=True)
    claim_holder = models.ForeignKey(
        "fleet.Owner", models.PROTECT, null=True, blank=True, related_name="+"
    )
    penetration_label = models.CharField(max_length=80, blank=True)
    caption = models.ForeignKey(
        "fleet.PrivateText",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="captioned_exhibits",
    )
    # The camera's wall clock, ISO 8601 without a zone, as it was written.
    taken_local = models.CharField(max_length=19, blank=True)
    taken_offset_min = models.SmallIntegerField(null=True, blank=True)
    taken_at = models.DateTimeField(null=True, blank=True)
    # "latitude longitude": where somebody lives, so it can be erased like a text.
    place = models.ForeignKey(
        "fleet.PrivateText",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="placed_exhibits",
    )
    device_at = models.DateTimeField(null=True, blank=True)
    device_offset_min = models.SmallIntegerField(null=True, blank=True)
    matched_by = models.CharField(
        max_length=16, choices=MatchedBy, default=MatchedBy.SENDER
    )
    # Where on the roof plan, when its sender said so.
    x_m = models.DecimalField(max_digits=7, decimal_places=4, null=True, blank=True)
    y_m = models.DecimalField(max_digits=7, decimal_places=4, null=True, blank=True)
    # The uuid of the exhibit that shows the same place before the work. It may arrive
    # later, so it is no foreign key; one of another roof means nothing.
    after_of = models.UUIDField(null=True, blank=True)
    signer_role = models.CharField(max_length=12, choices=SignerRole, blank=True)

    class Meta:
        constraints = [
            *record_constraints("exhibit"),
            models.CheckConstraint(
                name="exhibit_sha256_well_formed", condition=Q(sha256__regex=SHA256)
            ),
            models.CheckConstraint(
                name="exhibit_has_bytes", condition=Q(size_bytes__gt=0)
            ),
            models.CheckConstraint(
                name="exhibit_media_type_known",
                condition=Q(media_type__in=[kind.value for kind in MediaType]),
            ),
            models.CheckConstraint(
                name="exhibit_kind_known", condition=Q(kind__in=ExhibitKind.values)
            ),
            models.CheckConstraint(
                name="exhibit_matched_by_known",
                condition=Q(matched_by__in=MatchedBy.values),
            ),
            # An instant is known exactly when the camera told its offset.
            models.CheckConstraint(
                name="exhibit_instant_goes_with_offset",
                condition=Q(taken_at__isnull=True, taken_offset_min__isnull=True)
                | (
                    Q(taken_at__isnull=False, taken_offset_min__isnull=False)
                    & ~Q(taken_local="")
                ),
            ),
            models.CheckConstraint(
                name="exhibit_device_time_both_or_neither",
                condition=Q(device_at__isnull=True, device_offset_min__isnull=True)
                | Q(device_at__isnull=False, device_offset_min__isnull=False),
            ),
            models.CheckConstraint(
                name="exhibit_claim_holder_needs_claim",
                condition=Q(claim_holder__isnull=True) | Q(claim__isnull=False),
            ),
            models.CheckConstraint(
                name="exhibit_place_both_or_neither",
                condition=Q(x_m__isnull=True, y_m__isnull=True)
                | Q(x_m__isnull=False, y_m__isnull=False),
            ),
            models.CheckConstraint(
                name="exhibit_not_its_own_before",
                condition=Q(after_of__isnull=True) | ~Q(after_of=models.F("uuid")),
            ),
            models.CheckConstraint(
                name="exhibit_signer_role_on_sign_off",
                condition=Q(signer_role="")
                | Q(signer_role__in=SignerRole.values, kind=ExhibitKind.SIGN_OFF),
            ),
        ]
        indexes = [
            models.Index(name="exhibit_by_bytes", fields=["sha256"]),
            models.Index(name="exhibit_by_claim", fields=["claim"]),
        ]

    @property
    def clock_doubts(self) -> tuple[ClockDoubt, ...]:
        """Return what is odd about the clocks around it; a file has none to doubt."""
        if not MediaType(self.media_type).is_picture:
            return ()
        taken = parsed_time(self.taken_local.replace("-", ":").replace("T", " "))
        return clock_doubts(
            Capture(taken_local=taken, offset_min=self.taken_offset_min),
            device_at=self.device_at,
            device_offset_min=self.device_offset_min,
            received_at=self.recorded_at,
        )


class Look(models.TextChoices):
    """Whether a file has small copies to look at."""

    PENDING = "PENDING", "not made yet"
    DEVELOPED = "DEVELOPED", "made"
    UNREADABLE = "UNREADABLE", "cannot be decoded"
    NO_DECODER = "NO_DECODER", "no decoder here"
    NOT_A_PICTURE = "NOT_A_PICTURE", "no picture"


class Damage(models.TextChoices):
    NONE = "", "whole"
    GONE = "GONE", "gone"
    DAMAGED = "DAMAGED", "damaged"
    ERASED = "ERASED", "erased on request"


class StoredFile(models.Model):
    """What is known of the bytes behind one hash, by whoever names them.

    Not a fact but the state of the store: updated by its checks, never deleted.
    """

    sha256 = models.CharField(max_length=64, unique=True)
    size_bytes = models.PositiveBigIntegerField()
    media_type = models.CharField(max_length=32)
    kept_at = models.DateTimeField()
    checked_at = models.DateTimeField()
    damage = models.CharField(
        max_length=8, choices=Damage, default=Damage.NONE, blank=True
    )
    look = models.CharField(max_length=16, choices=Look, default=Look.PENDING)
    look_reason = models.CharField(max_length=200, blank=True)
    # 64 bits as a signed number; empty for flat pictures and files.
    likeness = models.BigIntegerField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="stored_file_sha256_well_formed",
                condition=Q(sha256__regex=SHA256),
            ),
            models.CheckConstraint(
                name="stored_file_damage_known",
                condition=Q(damage__in=Damage.values),
            ),
            models.CheckConstraint(
                name="stored_file_look_known", condition=Q(look__in=Look.values)
            ),
            models.CheckConstraint(
                name="stored_file_likeness_when_developed",
                condition=Q(likeness__isnull=True) | Q(look=Look.DEVELOPED),
            ),
        ]
        indexes = [
            models.Index(name="stored_file_by_check", fields=["checked_at"]),
            models.Index(
                name="stored_file_damaged",
                fields=["damage"],
                condition=~Q(damage=Damage.NONE),
            ),
        ]


class Derivative(models.Model):
    """A small upright copy without metadata; it names the file it was made from."""

    parent = models.ForeignKey(StoredFile, models.PROTECT, related_name="derivatives")
    edge_px = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    size_bytes = models.PositiveBigIntegerField()
    width_px = models.PositiveIntegerField()
    height_px = models.PositiveIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="derivative_edge_once_per_parent", fields=["parent", "edge_px"]
            ),
            models.CheckConstraint(
                name="derivative_within_edge",
                condition=Q(
                    width_px__gte=1,
                    height_px__gte=1,
                    width_px__lte=models.F("edge_px"),
                    height_px__lte=models.F("edge_px"),
                ),
            ),
        ]


class LikenessBand(models.Model):
    """Sixteen bits of a likeness, to find the few files that may look alike."""

    file = models.ForeignKey(StoredFile, models.PROTECT, related_name="bands")
    position = models.PositiveSmallIntegerField()
    bits = models.PositiveIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="likeness_band_once", fields=["file", "position"]
            ),
            models.CheckConstraint(
                name="likeness_band_in_range",
                condition=Q(position__lte=3, bits__lte=0xFFFF),
            ),
        ]
        indexes = [models.Index(name="likeness_band_bits", fields=["position", "bits"])]
