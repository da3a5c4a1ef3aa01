"""Invented names and sentences. Any likeness to a real one is an accident."""

from __future__ import annotations

from typing import Final

# Town, state, time zone.
TOWNS: Final = (
    ("Harrow Lake", "MI", "America/Detroit"),
    ("Port Alder", "MI", "America/Detroit"),
    ("Mill Narrows", "MI", "America/Detroit"),
    ("Thimble Harbor", "MI", "America/Detroit"),
    ("Cold Spring Bay", "WI", "America/Chicago"),
    ("Gull Prairie", "WI", "America/Chicago"),
    ("Ninepenny Ford", "WI", "America/Chicago"),
    ("Larch Hollow Station", "MN", "America/Chicago"),
    ("Kettle Reach", "MN", "America/Chicago"),
)
FIRST_NAMES: Final = (
    *("Adela", "Bertil", "Corwin", "Dagny", "Edda", "Fenno", "Gerda", "Hollis"),
    *("Ingrith", "Jory", "Kester", "Linnea", "Marit", "Nils", "Odile", "Perrin"),
    *("Quill", "Runa", "Sorrel", "Tamsin", "Ulla", "Verity", "Wendel", "Yrsa"),
)
LAST_NAMES: Final = (
    *("Oakhollow", "Greywater", "Fennimarsh", "Thistlewade", "Lanternby"),
    *("Stonewick", "Marrowfield", "Pinegarth", "Coldmere", "Ashbarrow"),
    *("Reedwhistle", "Saltgate", "Brackenthorpe", "Willowhythe", "Dunmarrow"),
    *("Heronsgill", "Copperbeck", "Mossgather", "Larkstile", "Underhaven"),
)
FLEETS: Final = (
    "Brindlewater Touring",
    "Ninefathom Coach Hire",
    "Crooked Oar Holidays",
    "Saltmeadow Lane Rentals",
)
# Make, model, body, usual length in feet.
COACHES: Final = (
    ("Tarnwick", "Dray 31", "MOTORHOME", 31.0),
    ("Tarnwick", "Dray 36", "MOTORHOME", 36.5),
    ("Osmere", "Loon 24", "MOTORHOME", 24.5),
    ("Pellbrook", "Quay 29", "FIFTH_WHEEL", 29.0),
    ("Pellbrook", "Quay 34", "FIFTH_WHEEL", 34.5),
    ("Ferncotte", "Wren 19", "TRAVEL_TRAILER", 19.5),
    ("Ferncotte", "Wren 26", "TRAVEL_TRAILER", 26.0),
    ("Ferncotte", "Rook 22", "TOY_HAULER", 22.5),
    ("Quillan", "Reed 28", "TRAVEL_TRAILER", 28.0),
    ("Quillan", "Sedge 38", "PARK_MODEL", 38.0),
)
CREWS: Final = (
    "A. Fennimarsh",
    "D. Copperbeck",
    "J. Underhaven",
    "M. Pinegarth",
    "R. Larkstile",
)
# This one moved his spots along quickly, and left some out.
HASTY_CREW: Final = "R. Larkstile"
INSPECTORS: Final = (*CREWS, "S. Willowhythe")

# What was found: cause, sentence.
SMALL_FINDINGS: Final = (
    ("dirt", "Leaf litter along the left gutter; washed off."),
    ("scuff", "Light scuff from a branch, film not through."),
    ("sealant", "Bead starting to lift at one corner; watch it."),
    ("ponding", "Ring of standing water behind the air conditioner."),
    ("gutter", "Spout joint weeping; owner told."),
    ("chalking", "Chalking on the sun side, wipes off."),
)
SERIOUS_FINDINGS: Final = (
    ("split sealant", "Split along the flange, water under the film."),
    ("branch strike", "Tear as long as a hand, deck showing."),
    ("loose flange", "Flange moves under the thumb; screws pulled."),
    ("holiday", "Missed place, bare membrane the size of a coin."),
    ("lifted edge", "Edge lifted over the cap, wind got under it."),
)
LEAKS: Final = (
    "Stain on the ceiling beside the {}.",
    "Drip below the {} after a night of rain.",
    "Soft wallboard under the {}.",
    "Water in the cupboard nearest the {}.",
    "Wet mattress corner; owner points at the {}.",
)
REPAIRS: Final = (
    "Cut out, dried, primed and detailed again; water test dry.",
    "Flange screwed down, bead renewed, two detail coats.",
    "Patch with fabric set in base coat, finish over it.",
)
