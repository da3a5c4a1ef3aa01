"""What a claim packet prints, as frozen values: the caller computes, the page shows.

Every number carries its unit in its name. Dates are civil dates, instants are aware
datetimes. ``None`` means *not recorded* and is printed so; it is never guessed.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from warranty.documents.claim_facts import DecisionFacts, DoubtFacts, MoveFacts


@dataclass(frozen=True, slots=True, kw_only=True)
class CompanyFacts:
    """The company that gave the promise."""

    name: str
    address_lines: tuple[str, ...] = ()
    phone: str = ""
    email: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClaimFacts:
    """A reported loss, with its cost as it was estimated."""

    reference: str
    noticed_on: date
    reported_on: date
    description: str
    estimate_cents: int | None  # integer cents of `currency`
    currency: str
    status: str
    done_at_once: str = ""  # what was done to protect the coach
    place_label: str = ""  # a penetration's label, or words for the place
    place_x_m: float | None = None  # from the front cap
    place_y_m: float | None = None  # from the left gutter


@dataclass(frozen=True, slots=True, kw_only=True)
class CoachFacts:
    """The coach under the roof. `unit_no` is the office's own number for it."""

    unit_no: str
    vin: str
    year: int | None
    make: str
    model: str
    body: str
    length_m: float
    width_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HolderFacts:
    """Who held the coach on the day of loss."""

    name: str
    kind: str
    held_from_on: date | None = None
    held_until_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatLotFacts:
    """One coat as applied: its lot, its volume, and the film that volume explains."""

    coat: str
    lot: str
    volume_l: float | None = None
    film_from_volume_mil: float | None = None
    film_from_gauge_mil: float | None = None
    gap_ratio: float | None = None  # |volume - gauge| / gauge
    is_doubt: bool = False  # the gap is over the limit of the mass balance


@dataclass(frozen=True, slots=True, kw_only=True)
class RoofFacts:
    """One installed roof system on the coach."""

    roof_no: str
    system_code: str
    system_title: str
    substrate: str
    started_on: date
    completed_on: date
    coats: tuple[CoatLotFacts, ...] = ()
    installed_by: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class EditionTextFacts:
    """One part of an edition's text, as it was published."""

    title: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EditionFacts:
    """The key numbers of one immutable edition of the promise."""

    code: str
    title: str
    owner_kind: str
    anchor: str
    interval_months: int
    window_days: int
    grace_days: int
    reinstatement_days: int
    registration_days: int
    serious_cure_days: int
    term_months: int | None  # None: for the life of the coach
    text: tuple[EditionTextFacts, ...] = ()  # its own words, in the checklist's order


@dataclass(frozen=True, slots=True, kw_only=True)
class ClauseFacts:
    """One clause's result on the day of loss."""

    number: str
    code: str
    title: str
    verdict: str  # MET, NOT_MET, UNKNOWN
    because: str
    cure: str = ""
    evidence: tuple[str, ...] = ()
    is_waived: bool = False
    holds_until: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingFacts:
    """What the promise was worth on the day of loss, clause by clause."""

    word: str  # PENDING, IN_FORCE, AT_RISK, SUSPENDED, ENDED
    as_of: date
    known_at: datetime
    because: str
    next_due_on: date | None
    holds_until: date | None
    rule_version: str
    clauses: tuple[ClauseFacts, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DueDateFacts:
    """One inspection due date, and the visit that satisfied it, if any did."""

    due_on: date
    window_opens_on: date | None
    grace_ends_on: date
    satisfied_on: date | None = None
    satisfied_by: str = ""
    is_missed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingSegmentFacts:
    """A stretch of days with one standing; both days belong to it."""

    word: str
    from_on: date
    until_on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class PenetrationFacts:
    """One penetration. (x, y) is its centre: from front cap and left gutter."""

    label: str
    kind: str
    x_m: float
    y_m: float
    width_m: float  # across the coach, along y
    length_m: float  # along the coach, along x
    detailed: bool | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingFacts:
    """One reading's dry film and, where it was recorded, its place."""

    coat: str
    area: str
    spot: str
    dry_mil: float
    x_m: float | None = None
    y_m: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmMapFacts:
    """An interpolated film map. Cell (ix, iy) is ``values_mil[iy * nx + ix]``."""

    coat: str
    cell_m: float
    nx: int
    ny: int
    values_mil: tuple[float, ...]  # length nx * ny; ignored where not measured
    measured: tuple[bool, ...]  # length nx * ny
    loo_rmse_mil: float | None  # leave-one-out error; None: too few readings
    low_mil: float | None = None  # the coat's dry limits, for the bands
    high_mil: float | None = None
    positions_note: str = ""  # how the positions are known


@dataclass(frozen=True, slots=True, kw_only=True)
class SpotFacts:
    """One spot: the mean of its readings, judged by the rule."""

    area: str
    spot: str
    mean_mil: float
    reading_count: int
    verdict: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AreaFacts:
    """One area: the mean of its spots, judged by the rule."""

    area: str
    mean_mil: float | None
    spot_count: int
    verdict: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmCoatFacts:
    """The acceptance of one coat's film, with the limits it was judged by."""

    coat: str
    rule: str  # e.g. "SSPC-PA 2, restriction level 3"
    method: str  # e.g. "notch gauge, lower bound"
    is_estimated: bool  # dry film computed from a wet gauge
    dry_min_mil: float | None
    dry_max_mil: float | None
    spot_min_mil: float | None
    spot_max_mil: float | None
    areas_needed: int
    spots: tuple[SpotFacts, ...]
    areas: tuple[AreaFacts, ...]
    verdict: str
    because: str
    lowest_spot_label: str = ""
    lowest_spot_mil: float | None = None
    mean_mil: float | None = None
    spread_mil: float | None = None  # sample standard deviation
    tolerance_bound_mil: float | None = None  # one-sided 95/95, lower


@dataclass(frozen=True, slots=True, kw_only=True)
class ClimateLimitFacts:
    """The weather limits the readings were judged by."""

    air_min_c: float | None
    air_max_c: float | None
    rh_max_pct: float | None
    dew_margin_c: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ClimateFacts:
    """One set of climate readings; `taken_at` keeps its own offset as text."""

    taken_at: str
    air_c: float | None
    surface_c: float | None
    rh_pct: float | None
    dew_point_c: float | None
    margin_c: float | None  # surface - dew point
    verdict: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingFacts:
    """Something seen at a place on the roof, and what cured it."""

    severity: str
    text: str
    place_label: str = ""
    x_m: float | None = None
    y_m: float | None = None
    cured_by: str = ""  # reference of the repair
    cured_on: date | None = None

    @property
    def is_cured(self) -> bool:
        """Whether a repair that names it is recorded."""
        return bool(self.cured_by) or self.cured_on is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitFacts:
    """One attendance at the coach, who recorded it and when."""

    ref: str
    kind: str
    happened_on: date
    technician: str
    result: str
    recorded_by: str
    recorded_at: datetime
    findings: tuple[FindingFacts, ...] = ()
    cures: tuple[str, ...] = ()  # references of the visits whose findings it cured


@dataclass(frozen=True, slots=True, kw_only=True)
class LastInspectionFacts:
    """The last inspection before the loss, at the place of loss."""

    visit_ref: str
    happened_on: date
    technician: str
    result: str
    place: str
    found: str  # what was found there; empty: nothing recorded there
    recorded_by: str
    recorded_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureFacts:
    """A small copy of a photo, upright and without metadata: the bytes of a JPEG."""

    content: bytes
    width_px: int
    height_px: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ExhibitFacts:
    """One photo or file, addressed by the SHA-256 of its original bytes.

    Every exhibit has a picture or says why it has none.
    """

    sha256: str
    caption: str
    captured_at: str  # as the file says, offset included where it says one
    received_at: datetime
    visit_ref: str = ""
    number: str = ""  # by which the packet names it, e.g. "E3"
    kind: str = "photo"
    media_type: str = ""
    size_bytes: int = 0
    device_at: str = ""  # the sending device's clock, offset included
    place_label: str = ""
    x_m: float | None = None  # from the front cap
    y_m: float | None = None  # from the left gutter
    after_of: str = ""  # the number of the exhibit that shows it before the work
    clock_doubts: tuple[str, ...] = ()
    picture: PictureFacts | None = None
    no_picture: str = ""  # why there is none


@dataclass(frozen=True, slots=True, kw_only=True)
class LedgerEntryFacts:
    """One entry of the roof's ledger."""

    seq: int
    kind: str
    recorded_at: datetime
    by: str
    payload_hash: str
    entry_hash: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LedgerFacts:
    """The roof's ledger: its head, and the entries behind it."""

    head_seq: int
    head_hash: str
    entries: tuple[LedgerEntryFacts, ...]
    check: str = ""  # what recomputing the chain said, in words


@dataclass(frozen=True, slots=True, kw_only=True)
class PacketFacts:
    """Everything a claim packet prints."""

    packet_id: str
    generated_for: str
    generated_at: datetime
    company: CompanyFacts
    claim: ClaimFacts
    coach: CoachFacts
    holder: HolderFacts
    roof: RoofFacts
    edition: EditionFacts
    standing: StandingFacts
    ledger: LedgerFacts
    last_inspection: LastInspectionFacts | None = None
    timeline: tuple[StandingSegmentFacts, ...] = ()
    due_dates: tuple[DueDateFacts, ...] = ()
    penetrations: tuple[PenetrationFacts, ...] = ()
    readings: tuple[ReadingFacts, ...] = ()
    film: tuple[FilmCoatFacts, ...] = ()
    film_maps: tuple[FilmMapFacts, ...] = ()
    climate_limits: ClimateLimitFacts | None = None
    climate: tuple[ClimateFacts, ...] = ()
    visits: tuple[VisitFacts, ...] = ()
    exhibits: tuple[ExhibitFacts, ...] = ()
    decisions: tuple[DecisionFacts, ...] = ()  # the last one counts
    moves: tuple[MoveFacts, ...] = ()
    doubts: tuple[DoubtFacts, ...] = ()
