"""Inspection reports of visits, rendered later and kept."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from uuid import UUID, uuid4

from fleet.actions.users import user_or_register
from fleet.errors import DomainError
from fleet.models import User, Visit
from fleet.selectors.scopes import visit_by_id
from fleet.store import keep
from jobs.exhibits import develop_missing
from jobs.models import Lane, Run
from jobs.runs import start
from jobs.work import Effect, Work
from warranty.actions.documents import add_report
from warranty.documents.report import inspection_report_pdf
from warranty.selectors.certificates import last_told_seq
from warranty.selectors.packet.exhibits import undeveloped
from warranty.selectors.packet.report import photos_of_visit, report_facts

KIND = "inspection_report"


class NothingToReport(DomainError):
    """The visit was struck, or its coach has no size to draw."""

    code = "nothing-to-report"
    http_status = 409


def request_report(*, visit: Visit, by: User, now: datetime) -> Run:
    """Ask for a visit's report; asked again with nothing new recorded, it is the same.

    Called for one visit, when it is finished or somebody asks: an import of years of
    visits asks for none.
    """
    return start(
        kind=KIND,
        payload={
            "visit": visit.pk,
            "report": str(uuid4()),
            "known_at": now.isoformat(),
        },
        by=by,
        now=now,
        lane=Lane.DEFAULT,
        dedupe_key=f"{KIND}:{visit.uuid}:{last_told_seq(visit.roof_id)}",
        owner=visit.roof.coach.holder,
    )


def render_report(work: Work) -> Effect:
    """Render a visit's report and keep it. Safe to run again: equal facts, equal bytes.

    Raises:
        NothingToReport: the visit does not count any more.
    """
    visit = visit_by_id(int(str(work.payload["visit"])))
    report_id = UUID(str(work.payload["report"]))
    known_at = datetime.fromisoformat(str(work.payload["known_at"]))
    photos = undeveloped(photos_of_visit(visit, known_at=known_at))
    work.progress.total(3 + len(photos))
    develop_missing(work, photos)
    facts = report_facts(visit, report_id=report_id, known_at=known_at)
    if facts is None:
        raise NothingToReport(
            "This visit was struck, or its coach is not described. Look at the roof's"
            " records, then ask again."
        )
    work.progress.step("facts gathered")
    pdf = inspection_report_pdf(facts)
    work.progress.step("pages drawn")
    digest = keep(pdf)
    work.progress.step("kept")

    def effect() -> Mapping[str, object]:
        add_report(
            visit=visit,
            report_id=report_id,
            sha256=digest,
            size_bytes=len(pdf),
            known_at=known_at,
            by=user_or_register(work.requested_by_id),
            now=work.clock(),
        )
        return {"report": str(report_id), "sha256": digest}

    return effect
