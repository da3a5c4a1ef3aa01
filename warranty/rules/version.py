"""The version of the rules, kept with every decision so that it can be replayed."""

from __future__ import annotations

# Raised whenever the same facts could get another answer.
RULE_VERSION = "1"
