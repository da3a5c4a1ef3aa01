"""Answer or dismiss a doubt about a roof's records."""

from __future__ import annotations

from datetime import datetime
from uuid import uuid4

from fleet.actions.errors import InvalidValue
from fleet.actions.recording import recording
from fleet.errors import NotFound
from fleet.models import PrivateText, Roof, User
from warranty.models import DoubtAnswer, DoubtWord
from warranty.selectors.doubts import doubts_of


def answer_doubt(
    *, roof: Roof, key: str, word: str, why: str, by: User, now: datetime
) -> DoubtAnswer:
    """Record a person's word on a doubt; the records it is about stay as they are.

    Raises:
        InvalidValue: no reason, or another word than answered and dismissed.
        NotFound: the records raise no such doubt by now.
    """
    if not why.strip():
        raise InvalidValue("why", "Say what the answer is, or why it is dismissed.")
    if word not in DoubtWord.values:
        raise InvalidValue("word", f"Use one of {', '.join(DoubtWord.values)}.")
    with recording(by=by, now=now) as made:
        made.lock([roof.pk])
        asked = {
            each.doubt.key: each.doubt for each in doubts_of(roof.pk, known_at=now)
        }
        if key not in asked:
            raise NotFound("No such question about this roof now. Read it again.")
        fact = DoubtAnswer(
            uuid=uuid4(),
            sign=asked[key].sign.value,
            key=key,
            word=word,
            why=PrivateText(body=why),
        )
        made.append(roof, "doubt", [fact])
        made.flush()
    return fact
