"""Filters that refuse what they do not understand."""

from __future__ import annotations

import django_filters
from django import forms
from drf_spectacular.utils import extend_schema_field

WORDS = {"true": True, "false": False}


class TrueOrFalse(forms.CharField):
    """A word that is true or false; anything else is a mistake, not "any"."""

    def clean(self, value: object) -> bool | None:
        """Return the truth of the word; None when nothing was sent."""
        word = str(value or "").lower()
        if not word:
            return None
        if word not in WORDS:
            raise forms.ValidationError("Send true or false.", code="invalid")
        return WORDS[word]


@extend_schema_field({"type": "boolean"})
class TruthFilter(django_filters.BooleanFilter):
    """Rows for which something holds, or does not."""

    field_class = TrueOrFalse

    def __init__(self, **kwargs: object) -> None:
        super().__init__(**kwargs)
        self.extra.pop("widget", None)
