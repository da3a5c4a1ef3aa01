"""What each clause is called in a document."""

from __future__ import annotations

CLAUSE_TITLES = {
    "film": "Film accepted",
    "substrate": "Substrate listed",
    "deck_dry": "Deck dry",
    "penetrations": "Every penetration detailed",
    "climate": "Climate within limits",
    "registered": "Registered in time",
    "holder": "Holder eligible",
    "serious_findings": "Serious findings cured in time",
    "inspections": "Inspections current",
    "alterations": "No unapproved alteration",
    "coach": "Coach alive",
    "term": "Term not over",
}
