"""What people ask of the pages about notices."""

from __future__ import annotations

from django import forms

from jobs.models import Language, MessageState
from jobs.notices.selectors import LOOK, MessageQuery
from jobs.notices.words_en import ENGLISH
from warranty.documents.wording import readable
from warranty.rules.ladder import Step

STEPS = [(step.value, readable(step.value.lower())) for step in Step]
NEWS = [(name, readable(name.lower())) for name in ENGLISH.claims]
NEXT = "next"


class MessageListForm(forms.Form):
    """Filters and order of the list of messages."""

    q = forms.CharField(
        label="Owner, coach no. or address",
        required=False,
        max_length=120,
        widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off"}),
    )
    state = forms.ChoiceField(
        label="State",
        required=False,
        choices=[("", "any"), (LOOK, "needs a look"), *MessageState.choices],
    )
    step = forms.ChoiceField(
        label="Step", required=False, choices=[("", "any"), *STEPS]
    )
    sort = forms.ChoiceField(
        label="Sorted by",
        required=False,
        choices=[("", "newest first"), (NEXT, "time of sending")],
    )

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, label_suffix="", **kwargs)

    def query(self, *, page: int) -> MessageQuery:
        """Return what was asked; a field with an error asks nothing."""
        self.is_valid()
        asked = self.cleaned_data
        return MessageQuery(
            words=asked.get("q", "").strip(),
            state=asked.get("state", ""),
            step=asked.get("step", ""),
            next_first=asked.get("sort") == NEXT,
            page=page,
        )


class PreviewForm(forms.Form):
    """Which message to show, about which roof on record."""

    coach = forms.CharField(label="Coach no.", max_length=40)
    step = forms.ChoiceField(label="Step", choices=STEPS)
    news = forms.ChoiceField(label="News of a claim", choices=NEWS, required=False)
    language = forms.ChoiceField(label="Language", choices=Language.choices)

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, label_suffix="", **kwargs)


class WishForm(forms.Form):
    """How an owner wants to be written to."""

    language = forms.ChoiceField(label="Language", choices=Language.choices)
    text_number = forms.RegexField(
        r"^\+?[0-9 ().-]{5,20}$",
        label="Number for text messages",
        required=False,
        max_length=20,
        error_messages={"invalid": "Write a number like +1 555 010 0199."},
    )
    text_consent_how = forms.CharField(
        label="How the owner agreed to text messages",
        required=False,
        max_length=200,
    )

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
