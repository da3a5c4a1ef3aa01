"""Editions as the law's checklist reads them, drafts included."""

from __future__ import annotations

from typing import Final

from django.conf import settings
from django.db.models import QuerySet

from fleet.scope import Scope
from warranty.models import Edition
from warranty.rules.clause import Clause
from warranty.rules.law import CheckResult, Fault, Rule, Severity, check_promise
from warranty.rules.promise import ITEMS, Promise
from warranty.rules.terms import Designation, TermsInputError
from warranty.selectors.terms import clauses_of, terms_of


def editions_visible_to(scope: Scope) -> QuerySet[Edition]:
    """Return the editions a caller may see: drafts are the office's own."""
    rows = Edition.objects.all()
    return rows if scope.may_run_office else rows.filter(published_at__isnull=False)


def edition_by_id(edition_id: int) -> Edition:
    """Return an edition that a run's payload names, drafts included."""
    return Edition.objects.get(pk=edition_id)


def promise_of(edition: Edition) -> Promise:
    """Return an edition's words and demands."""
    clauses = clauses_of(edition)
    return Promise(
        title=edition.title,
        designation=Designation(edition.designation),
        term_months=edition.term_months,
        life_of=edition.life_of,
        demands_registration=Clause.REGISTERED in clauses,
        demands_inspections=Clause.INSPECTIONS in clauses,
        inspections_free=edition.inspections_free,
        accepts_other_shops=edition.accepts_other_shops,
        is_transferable=edition.is_transferable,
        transfer_needs_inspection=edition.transfer_needs_inspection,
        warrantor_name=settings.COMPANY_NAME,
        warrantor_address=settings.COMPANY_ADDRESS,
        texts={item: getattr(edition, item.value) for item in ITEMS},
    )


def edition_checks(edition: Edition) -> tuple[CheckResult, ...]:
    """Return whether the numbers fit, then what each rule of the law says."""
    return (_numbers_fit(edition), *check_promise(promise_of(edition)))


NUMBERS_FIT: Final = Rule(
    code="numbers_fit",
    title="The numbers do not contradict each other",
    citation="project rule: a visit satisfies one due date at most",
    severity=Severity.ERROR,
    check=lambda _: None,
)


def _numbers_fit(edition: Edition) -> CheckResult:
    # What the law says of the title has rules of its own, with their citation.
    plain = Edition(**{f.attname: getattr(edition, f.attname) for f in _COLUMNS})
    plain.designation, plain.life_of = Designation.LIMITED.value, "coach"
    try:
        terms_of(plain)
    except TermsInputError as error:
        fault = Fault(field="window_days", says=str(error))
        return CheckResult(rule=NUMBERS_FIT, fault=fault)
    return CheckResult(rule=NUMBERS_FIT, fault=None)


_COLUMNS = Edition._meta.concrete_fields
