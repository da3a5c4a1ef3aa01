"""What happens to a coach, dealt so that everything happens to some of them."""

from __future__ import annotations

from enum import StrEnum
from typing import Final

from warranty.demo.chance import Chance


class Fate(StrEnum):
    """The one thing that stands out in a coach's history."""

    STEADY = "STEADY"
    DUE_SOON = "DUE_SOON"
    IN_GRACE = "IN_GRACE"
    OVERDUE = "OVERDUE"
    FORGOTTEN = "FORGOTTEN"
    REINSTATED = "REINSTATED"
    LAPSED = "LAPSED"
    SOLD = "SOLD"
    SOLD_ACROSS = "SOLD_ACROSS"  # to a kind of owner that the edition does not cover
    RETIRED = "RETIRED"
    COATED_TWICE = "COATED_TWICE"
    NEVER_REGISTERED = "NEVER_REGISTERED"
    REGISTERED_LATE = "REGISTERED_LATE"
    LATE_BUT_WAIVED = "LATE_BUT_WAIVED"
    CLIMATE_BLANK = "CLIMATE_BLANK"
    COLD_DAY = "COLD_DAY"
    COLD_BUT_WAIVED = "COLD_BUT_WAIVED"
    LEFT_BARE = "LEFT_BARE"
    OTHER_SUBSTRATE = "OTHER_SUBSTRATE"
    SERIOUS_OPEN = "SERIOUS_OPEN"
    SERIOUS_OVERDUE = "SERIOUS_OVERDUE"
    SERIOUS_CURED = "SERIOUS_CURED"
    TYPED_LATE = "TYPED_LATE"
    DISPUTED = "DISPUTED"
    MISREAD = "MISREAD"
    SURVEYED = "SURVEYED"


# Of 240 coaches; the rest are steady.
OF_240: Final[dict[Fate, int]] = {
    Fate.DUE_SOON: 6,
    Fate.IN_GRACE: 6,
    Fate.OVERDUE: 5,
    Fate.FORGOTTEN: 9,
    Fate.REINSTATED: 14,
    Fate.LAPSED: 7,
    Fate.SOLD: 14,
    Fate.SOLD_ACROSS: 3,
    Fate.RETIRED: 10,
    Fate.COATED_TWICE: 2,
    Fate.NEVER_REGISTERED: 3,
    Fate.REGISTERED_LATE: 5,
    Fate.LATE_BUT_WAIVED: 3,
    Fate.CLIMATE_BLANK: 5,
    Fate.COLD_DAY: 2,
    Fate.COLD_BUT_WAIVED: 2,
    Fate.LEFT_BARE: 3,
    Fate.OTHER_SUBSTRATE: 1,
    Fate.SERIOUS_OPEN: 6,
    Fate.SERIOUS_OVERDUE: 3,
    Fate.SERIOUS_CURED: 12,
    Fate.TYPED_LATE: 5,
    Fate.DISPUTED: 2,
    Fate.MISREAD: 5,
    Fate.SURVEYED: 4,
}
RENTAL_SHARE: Final = 0.3
FEWEST_COACHES: Final = len(OF_240) + 5
ONLY_RENTAL: Final = frozenset({Fate.DUE_SOON, Fate.IN_GRACE, Fate.OVERDUE})
ONLY_PRIVATE: Final = frozenset(
    {Fate.FORGOTTEN, Fate.SOLD, Fate.COATED_TWICE, Fate.OTHER_SUBSTRATE}
)
# These stay in good order today, whatever happened before.
WELL_KEPT: Final = frozenset(
    {
        Fate.STEADY,
        Fate.SOLD,
        Fate.LATE_BUT_WAIVED,
        Fate.COLD_BUT_WAIVED,
        Fate.SERIOUS_CURED,
        Fate.TYPED_LATE,
        Fate.MISREAD,
    }
)
# Nothing else may go wrong here, or the standing would tell another story.
OTHERWISE_SOUND: Final = ONLY_RENTAL | {
    Fate.FORGOTTEN,
    Fate.SERIOUS_OPEN,
    Fate.SERIOUS_OVERDUE,
}
# How long ago the coating must lie for the story to have room, in days.
_ROOM: Final[dict[Fate, int]] = {
    Fate.COATED_TWICE: 1900,
    Fate.LAPSED: 1150,
    Fate.REINSTATED: 1000,
    Fate.RETIRED: 800,
    Fate.SOLD: 800,
    Fate.SOLD_ACROSS: 800,
    Fate.SERIOUS_OPEN: 450,
    Fate.SERIOUS_OVERDUE: 450,
    Fate.SERIOUS_CURED: 450,
    Fate.SURVEYED: 0,
    Fate.STEADY: 10,
}
_USUAL_ROOM: Final = 600


def room_days(fate: Fate) -> int:
    """Return how many days ago the roof was completed at the latest."""
    return _ROOM.get(fate, _USUAL_ROOM)


def deal(coaches: int, chance: Chance) -> list[Fate]:
    """Return a fate for each coach: every fate at least once, then by share."""
    dealt = [
        fate
        for fate, of_240 in OF_240.items()
        for _ in range(max(1, round(of_240 * coaches / 240)))
    ]
    dealt.extend([Fate.STEADY] * (coaches - len(dealt)))
    chance.shuffle(dealt)
    return dealt


def is_rental(fate: Fate, chance: Chance) -> bool:
    """Return whether a coach of this fate belongs to a rental fleet."""
    drawn = chance.happens(RENTAL_SHARE)
    return fate in ONLY_RENTAL or (drawn and fate not in ONLY_PRIVATE)
