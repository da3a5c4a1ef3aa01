"""Editions are drafts until they are published, and then the database keeps them."""

from __future__ import annotations

import pytest
from django.db import DatabaseError, transaction

from tests.builders import NOON, draft_of, make_draft
from warranty.actions.editions import change_draft, draft_edition, publish_edition
from warranty.actions.errors import DraftMovedOn, EditionPublished, LawNotMet
from warranty.models import Edition

pytestmark = pytest.mark.django_db


def publish(draft: Edition) -> Edition:
    return publish_edition(edition=draft, version=draft.version, now=NOON)


def test_a_draft_may_break_the_law_for_now():
    draft = draft_edition(edition=draft_of(designation="full", remedy=""))

    assert draft.published_at is None


def test_publishing_is_refused_with_every_error_of_the_checklist():
    draft = make_draft(remedy="", claim_procedure="", registration="")

    with pytest.raises(LawNotMet) as refused:
        publish(draft)

    codes = {error["code"] for error in refused.value.detail["errors"]}
    assert codes == {"remedy", "claim_procedure", "registration_said"}
    draft.refresh_from_db()
    assert draft.published_at is None


def test_publishing_says_when():
    assert publish(make_draft()).published_at == NOON


def test_a_company_without_an_address_publishes_nothing(settings):
    settings.COMPANY_ADDRESS = ""

    with pytest.raises(LawNotMet, match="1 of the checks"):
        publish(make_draft())


def test_of_two_changes_from_one_version_the_second_is_told():
    draft = make_draft()
    change_draft(edition=draft, version=1, changes={"grace_days": 45})

    with pytest.raises(DraftMovedOn):
        change_draft(edition=draft, version=1, changes={"grace_days": 50})

    assert Edition.objects.get(pk=draft.pk).grace_days == 45


def test_what_was_checked_is_what_is_published():
    draft = make_draft()
    change_draft(edition=draft, version=1, changes={"remedy": ""})

    with pytest.raises(DraftMovedOn):
        publish_edition(edition=draft, version=1, now=NOON)


def test_a_published_edition_takes_no_change():
    edition = publish(make_draft())

    with pytest.raises(EditionPublished):
        change_draft(edition=edition, version=2, changes={"grace_days": 45})


@pytest.mark.parametrize(
    "change",
    [
        lambda row: Edition.objects.filter(pk=row.pk).update(grace_days=1),
        lambda row: Edition.objects.filter(pk=row.pk).update(published_at=None),
        lambda row: row.save(),
        lambda row: Edition.objects.filter(pk=row.pk)._raw_delete("default"),
    ],
    ids=["update", "unpublish", "save", "delete"],
)
def test_the_database_refuses_to_change_a_published_edition(change):
    edition = publish(make_draft())

    with (
        pytest.raises(DatabaseError, match="never updated or deleted"),
        transaction.atomic(),
    ):
        change(edition)


def test_the_database_lets_a_draft_go():
    draft = make_draft()

    draft.delete()

    assert not Edition.objects.exists()
