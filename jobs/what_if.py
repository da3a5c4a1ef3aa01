"""What would an edition change? Replayed later, over columns, touching nothing."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date, datetime

from fleet.models import Owner, User
from fleet.selectors.scopes import owner_by_id
from fleet.store import fetch, keep
from jobs.models import Lane, Run, RunState
from jobs.runs import start
from jobs.work import Effect, Work
from warranty.actions.errors import DraftMovedOn, TermsNotValid
from warranty.models import Edition
from warranty.rules.terms import TermsInputError
from warranty.selectors.editions import edition_by_id
from warranty.selectors.terms import terms_of
from warranty.selectors.what_if import Replay, batches, promised_roofs

KIND = "what_if"


def request_what_if(
    *, edition: Edition, owner: Owner | None, as_of: date, by: User, now: datetime
) -> Run:
    """Ask what an edition would change for all coverages, or for one owner's.

    Raises:
        TermsNotValid: the rules cannot run an edition that contradicts itself.
    """
    try:
        terms_of(edition)
    except TermsInputError as error:
        raise TermsNotValid(f"The edition cannot be replayed: {error}") from None
    return start(
        kind=KIND,
        payload={
            "edition": edition.pk,
            "version": edition.version,
            "owner": owner.pk if owner else None,
            "as_of": as_of.isoformat(),
            "known_at": now.isoformat(),
        },
        by=by,
        now=now,
        lane=Lane.HEAVY,
    )


def replay_edition(work: Work) -> Effect:
    """Replay an edition in batches and keep the report. Reads only; safe to run again.

    Raises:
        DraftMovedOn: the draft was changed before its turn came.
    """
    edition = edition_by_id(int(str(work.payload["edition"])))
    if edition.version != work.payload["version"]:
        raise DraftMovedOn("The draft was changed since this was asked. Ask again.")
    owner_id = work.payload["owner"]
    owner = owner_by_id(int(str(owner_id))) if owner_id else None
    roof_ids = promised_roofs(owner)
    replay = Replay(
        edition=edition,
        as_of=date.fromisoformat(str(work.payload["as_of"])),
        known_at=datetime.fromisoformat(str(work.payload["known_at"])),
    )
    work.progress.total(roof_ids.count())
    for batch in batches(roof_ids):
        replay.take(batch)
        work.progress.step(f"{replay.tally.changed} changed so far", steps=len(batch))
    owner_said = {"owner": str(owner.uuid) if owner else None}
    report = {**replay.report(), **owner_said}
    digest = keep(json.dumps(report, sort_keys=True).encode())

    def effect() -> Mapping[str, object]:
        return {
            "what_if": digest,
            "roofs": replay.roofs,
            "changed": replay.tally.changed,
        }

    return effect


def report_of(run: Run) -> dict[str, object] | None:
    """Return the report of a finished what-if run, or None while there is none."""
    if run.kind != KIND or run.state != RunState.DONE:
        return None
    report: dict[str, object] = json.loads(fetch(str(run.result["what_if"])))
    return report
