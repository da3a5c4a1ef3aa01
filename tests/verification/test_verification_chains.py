"""``verify`` finds rows and entries that were added, removed, moved or swapped."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.management import call_command
from django.db import models

from fleet.actions.coaches import add_owner, merge_coaches, merge_owners
from fleet.models import (
    CoachDescription,
    CoachFact,
    FilmReading,
    LedgerEntry,
    LedgerHead,
    Merge,
    Visit,
)
from fleet.selectors.verification import verify_ledgers
from tests.builders import NOON, make_installed_roof, make_owner, make_roof, office
from tests.verification.tampering import (
    AGAIN,
    change,
    delete,
    entry_of,
    record_everything,
    unguarded,
)

pytestmark = pytest.mark.django_db


def found() -> list[tuple[str, int, str]]:
    """Return where every fault is, and what it is."""
    return [(each.roof, each.seq, each.reason) for each in verify_ledgers().faults]


@pytest.fixture
def roofs():
    return record_everything()


@pytest.mark.slow
def test_a_deleted_row_is_gone(roofs):
    reading = FilmReading.objects.filter(roof=roofs[0]).latest("pk")
    seq = reading.entry.seq

    delete(reading)

    reason = f"filmreading {reading.uuid} is gone"
    assert found() == [(str(roofs[0].uuid), seq, reason)]


@pytest.mark.slow
def test_a_row_that_was_slipped_in_stands_in_no_entry(roofs):
    forged = FilmReading.objects.filter(roof=roofs[0]).latest("pk")
    seq = forged.entry.seq

    forged.pk, forged.uuid, forged._state.adding = None, uuid4(), True
    forged.save(force_insert=True)

    reason = f"filmreading {forged.uuid} stands in no entry"
    assert found() == [(str(roofs[0].uuid), seq, reason)]


@pytest.mark.slow
def test_a_row_cannot_hide_behind_the_id_of_another_scope(roofs):
    forged = FilmReading.objects.filter(roof=roofs[0]).latest("pk")

    forged.pk, forged.scope, forged._state.adding = None, "owner:x", True
    forged.save(force_insert=True)

    [(roof, _, reason)] = found()
    assert roof == str(roofs[0].uuid)
    assert reason.endswith("stands in no entry")


@pytest.mark.slow
def test_a_fact_of_a_coach_that_was_slipped_in_is_found(roofs):
    CoachDescription.objects.create(
        coach=roofs[0].coach,
        length=9,
        width=2,
        length_m=9,
        width_m=2,
        length_unit="m",
        recorded_at=NOON,
        recorded_by=office(),
    )

    [(roof, _, reason)] = found()
    assert roof == str(roofs[0].uuid)
    assert reason.endswith("stands in no entry")


@pytest.mark.slow
def test_a_deleted_last_entry_is_missed_by_the_head(roofs):
    last = roofs[0].entries.latest("seq")
    assert not Visit.objects.filter(entry=last).exists()

    delete(last)

    reason = "the head does not name the last entry"
    assert found() == [(str(roofs[0].uuid), last.seq - 1, reason)]


@pytest.mark.slow
def test_a_deleted_entry_in_the_middle_leaves_a_gap(roofs):
    last = roofs[0].entries.latest("seq")
    before = roofs[0].entries.get(seq=last.seq - 1)
    assert before.kind == "ownership"

    delete(before)

    reason = f"entry {before.seq} is missing"
    assert found() == [(str(roofs[0].uuid), last.seq, reason)]


@pytest.mark.slow
def test_an_entry_moved_to_another_roof_fits_neither(roofs):
    roof, other = roofs
    last = roof.entries.latest("seq")

    change(last, roof=other, seq=other.entries.count() + 1)

    assert {roof for roof, _, _ in found()} == {str(roof.uuid), str(other.uuid)}


@pytest.mark.slow
def test_two_swapped_entries_are_out_of_place(roofs):
    first, second = roofs[0].entries.order_by("-seq")[:2]

    change(first, seq=10_000)
    change(second, seq=first.seq)
    change(first, seq=second.seq)

    [(roof, seq, _)] = found()
    assert (roof, seq) == (str(roofs[0].uuid), second.seq)


@pytest.mark.slow
def test_swapped_chains_of_two_roofs_belong_to_neither(roofs):
    roof, other = roofs
    with unguarded(LedgerEntry):
        numbers = {each.pk: each.roof_id for each in LedgerEntry.objects.all()}
        LedgerEntry.objects.update(seq=models.F("seq") + 1000)
        for entry in LedgerEntry.objects.order_by("pk"):
            swapped = other if numbers[entry.pk] == roof.pk else roof
            LedgerEntry.objects.filter(pk=entry.pk).update(
                roof=swapped, seq=entry.seq - 1000
            )

    assert {roof for roof, _, _ in found()} == {str(roof.uuid), str(other.uuid)}


@pytest.mark.slow
@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("payload", "{}"),
        ("payload_sha256", "0" * 64),
        ("previous_sha256", "0" * 64),
        ("entry_sha256", "0" * 64),
        ("kind", "other"),
        ("recorded_at", NOON + timedelta(microseconds=1)),
    ],
)
def test_a_changed_column_of_an_entry_is_found(roofs, column, value):
    entry = roofs[0].entries.get(seq=3)

    change(entry, **{column: value})

    [(roof, seq, _)] = found()
    assert (roof, seq) == (str(roofs[0].uuid), 3)


@pytest.mark.slow
def test_a_row_moved_to_another_entry_is_found(roofs):
    reading = FilmReading.objects.filter(roof=roofs[0]).earliest("pk")

    change(reading, entry=roofs[0].entries.latest("seq"))

    [(_, seq, reason)] = found()
    assert seq == entry_of(FilmReading.objects.filter(entry__seq=seq)[0], roofs[0]).seq
    assert reason == f"filmreading {reading.uuid} was moved to another entry"


def test_a_roof_without_a_chain_is_broken():
    roof = make_roof()
    LedgerHead.objects.filter(roof=roof).delete()

    assert [reason for *_, reason in found()] == ["the roof has no chain"]


@pytest.mark.slow
class TestTexts:
    def test_changed_words_are_found(self, roofs):
        visit = Visit.objects.get(ref="V-1")

        change_text(visit.note, body="ladder on grass")

        [(_, seq, reason)] = found()
        assert seq == visit.entry.seq
        assert reason == f"visit {visit.uuid} was changed: note"

    def test_an_erased_text_is_erased_and_not_broken(self, roofs):
        change_text(Visit.objects.get(ref="V-1").note, body="", salt="", erased_at=NOON)

        result = verify_ledgers()

        assert (result.faults, result.erased) == ([], 1)

    def test_another_text_that_was_erased_cannot_stand_in(self, roofs):
        visit = Visit.objects.get(ref="V-1")
        other = visit.findings.get().note
        change_text(other, body="", salt="", erased_at=NOON)

        change(visit, note=other)

        assert [reason for *_, reason in found()] == [
            f"visit {visit.uuid} was changed: note"
        ]


def change_text(text, **values):
    type(text).objects.filter(pk=text.pk).update(**values)


@pytest.mark.slow
class TestMerges:
    def test_merged_coaches_verify(self):
        kept, dropped = make_installed_roof(), make_installed_roof()

        merge_coaches(
            kept=kept.coach, dropped=dropped.coach, why="twice", by=office(), now=NOON
        )

        assert found() == []

    def test_a_roof_opened_after_the_merge_tells_of_both_coaches(self):
        kept, dropped = make_installed_roof(), make_installed_roof()
        told = {"by": office(), "now": NOON}
        merge_coaches(kept=kept.coach, dropped=dropped.coach, why="twice", **told)

        roof = make_roof(coach=kept.coach, now=AGAIN)

        assert found() == []
        payload = roof.entries.get().payload
        facts = [
            str(row.uuid)
            for table in (CoachDescription, kept.coach.ownerships.model)
            for row in table.objects.all()
        ]
        assert all(uuid in payload for uuid in facts)

    def test_a_merge_into_a_merged_coach_carries_the_first_along(self):
        roofs = [make_installed_roof() for _ in range(3)]
        first, second, third = (roof.coach for roof in roofs)
        told = {"by": office(), "now": NOON}
        merge_coaches(kept=second, dropped=first, why="twice", **told)

        merge_coaches(kept=third, dropped=second, why="thrice", **told)

        first.refresh_from_db()
        assert first.merged_into == third
        assert found() == []

    def test_a_changed_merge_is_found(self):
        kept, dropped = make_installed_roof(), make_owner()
        owner = kept.coach.holder
        merge = merge_owners(
            kept=dropped, dropped=owner, why="twice", by=office(), now=NOON
        )

        change(merge, kept=uuid4())

        [(roof, _, reason)] = found()
        assert roof == str(kept.uuid)
        assert reason == f"merge {merge.uuid} was changed: kept"

    def test_a_merge_of_owners_without_roofs_is_no_fault(self):
        make_installed_roof()
        merge_owners(
            kept=add_owner(name="A", kind="private"),
            dropped=add_owner(name="B", kind="private"),
            why="twice",
            by=office(),
            now=NOON,
        )

        assert Merge.objects.count() == 1
        assert found() == []


def test_the_command_names_the_place_and_fails(capsys):
    roof = make_roof()
    entry = roof.entries.get()
    change(entry, kind="other")

    with pytest.raises(SystemExit, match="1"):
        call_command("verify")

    said = capsys.readouterr().out
    assert f"Coach {roof.coach.unit_no}, roof 1, entry 1: its own hash" in said
    assert "1 ledgers broken" in said


def test_the_command_is_content_with_whole_ledgers(capsys):
    make_roof()

    call_command("verify")

    assert "0 ledgers broken" in capsys.readouterr().out


def test_facts_of_coaches_are_the_only_ones_without_an_entry():
    tables = CoachFact.__subclasses__()

    assert all("entry" not in {f.name for f in t._meta.fields} for t in tables)
