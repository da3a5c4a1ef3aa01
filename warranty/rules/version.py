"""The version of the rules, kept with every decision so that it can be replayed."""

from __future__ import annotations

# Raised whenever the same facts could get another answer.
# 2: an inspection by another shop counts only where accepted or approved.
RULE_VERSION = "2"
