"""The office drafts, checks and publishes editions; everybody reads published ones."""

from __future__ import annotations

from io import BytesIO

import pytest
from pypdf import PdfReader

from tests import builders
from warranty.actions.editions import publish_edition
from warranty.models import Edition
from warranty.pages.edition_form import written


@pytest.fixture
def draft(world) -> Edition:
    return builders.make_draft(code="DRAFT-9")


def sent(edition: Edition, **over: object) -> dict[str, object]:
    """Return what a browser sends of a form: no unticked box, no empty number."""
    fields = {**written(edition), "version": edition.version, **over}
    return {name: value for name, value in fields.items() if value not in (None, False)}


def test_the_list_shows_drafts_to_the_office_alone(world, draft):
    assert "DRAFT-9" in world.office.get("/terms/").text
    for other in (world.technician, world.manager):
        assert "DRAFT-9" not in other.get("/terms/").text
    assert world.nobody.get("/terms/").status_code == 302


def test_a_draft_is_kept_and_leads_to_its_checks(world, draft):
    body = sent(draft, code="DRAFT-10", remedy="")

    kept = world.office.post("/terms/new", body, follow=True)

    assert "error keeps it from being published" in kept.text
    assert "16 CFR 701.3(a)(3)" in kept.text


def test_a_number_that_cannot_be_is_named_beside_its_field(world, draft):
    body = sent(draft, code="DRAFT-11", window_days=340, grace_days=60)

    refused = world.office.post("/terms/new", body)

    assert "Window and grace together reach the interval" in refused.text
    assert not Edition.objects.filter(code="DRAFT-11").exists()


def test_a_change_from_an_old_form_is_told_and_keeps_nothing(world, draft):
    where = f"/terms/{draft.uuid}/change"
    world.office.post(where, sent(draft, remedy="First."))

    second = world.office.post(where, sent(draft, remedy="Second."))

    assert "Somebody else changed this draft" in second.text
    assert Edition.objects.get(pk=draft.pk).remedy == "First."


def test_publishing_with_errors_shows_them(world):
    draft = builders.make_draft(remedy="")

    refused = world.office.post(f"/terms/{draft.uuid}/publish", {"version": 1})

    assert refused.status_code == 400
    assert "cannot be published yet" in refused.text
    assert "Say what the company does and pays for." in refused.text


def test_a_published_edition_is_everybodys_and_has_no_change(world, draft):
    world.office.post(f"/terms/{draft.uuid}/publish", {"version": 1})

    shown = world.manager.get(f"/terms/{draft.uuid}/")

    assert shown.status_code == 200
    assert "Change the draft" not in shown.text
    assert "Checks" not in shown.text


@pytest.mark.parametrize("who", ["technician", "manager", "stranger"])
def test_nobody_else_writes(world, draft, who):
    client = getattr(world, who)

    assert client.post("/terms/new", sent(draft)).status_code == 403
    assert client.get(f"/terms/{draft.uuid}/").status_code == 404
    assert client.post(f"/terms/{draft.uuid}/publish").status_code == 403


@pytest.mark.slow
def test_the_certificate_can_be_seen_before_publishing(world, draft):
    answer = world.office.get(f"/terms/{draft.uuid}/certificate.pdf")

    said = PdfReader(BytesIO(answer.content)).pages[0].extract_text()
    assert "Preview of a draft" in said
    assert world.manager.get(f"/terms/{draft.uuid}/certificate.pdf").status_code == 404


def test_hostile_text_is_shown_as_typed(world):
    draft = builders.make_draft(covered="<script>alert(1)</script>")
    publish_edition(edition=draft, version=1, now=builders.NOON)

    shown = world.manager.get(f"/terms/{draft.uuid}/").text

    assert "<script>alert" not in shown
    assert "&lt;script&gt;" in shown
