"""Lots: which roofs carry one, within what a person may see."""

from __future__ import annotations

from decimal import Decimal

import pytest

from fleet.actions.roofs import record
from fleet.models import CoatLog
from tests import builders

LOT = "B-17/2"


def lay(roof, *, lot: str = LOT, coat: str = "base", **over) -> CoatLog:
    fact = CoatLog(
        coat=coat,
        lot=lot,
        volume=Decimal(3),
        volume_unit="gal",
        volume_ml=Decimal("11356.24"),
        happened_on=builders.COMPLETED,
        **over,
    )
    record(
        roof=roof, kind="coat", facts=[fact], by=builders.office(), now=builders.NOON
    )
    return fact


def row_of(client, lot: str = LOT):
    rows = client.get("/lots/", {"words": lot}).context["rows"]
    return next((row for row in rows if row.lot == lot), None)


class TestTheList:
    def test_counts_roofs_and_claims(self, world):
        lay(world.fleet_roof)
        lay(world.private_roof)
        builders.make_claim(world.fleet_roof)

        row = row_of(world.office)

        assert (row.roofs, row.claims, row.coat) == (2, 1, "base")

    def test_a_corrected_log_counts_no_more(self, world):
        wrong = lay(world.fleet_roof, lot="WRONG")
        lay(world.fleet_roof, supersedes=wrong.uuid)

        assert row_of(world.office, "WRONG") is None
        assert row_of(world.office).roofs == 1

    def test_a_manager_sees_lots_on_own_coaches_only(self, world):
        lay(world.fleet_roof)
        lay(world.private_roof)
        builders.make_claim(world.private_roof)

        row = row_of(world.manager)

        assert (row.roofs, row.claims) == (1, 0)

    def test_a_former_holders_claim_is_not_counted_for_the_new_one(self, world):
        lay(world.fleet_roof)
        claim = builders.make_claim(world.fleet_roof)
        type(claim).objects.filter(pk=claim.pk).update(holder=builders.make_owner())

        assert row_of(world.manager).claims == 0

    def test_a_nul_in_the_question_finds_nothing(self, world):
        lay(world.fleet_roof)

        assert world.office.get("/lots/?words=%00B-17").status_code == 200

    def test_asks_the_same_for_one_and_for_many(self, world, django_assert_num_queries):
        def queries(client):
            with django_assert_num_queries(6):
                client.get("/lots/")

        lay(world.fleet_roof)
        queries(world.office)
        for number in range(4):
            lay(world.private_roof, lot=f"C-{number}")
        queries(world.office)


class TestOneLot:
    def test_names_the_roofs_and_where_they_stand(self, world):
        lay(world.fleet_roof)

        text = world.office.get(f"/lots/{LOT}/").text

        assert "HL-7001" in text
        assert "Gull Prairie" in text

    @pytest.mark.parametrize("lot", ["NONE", "%00"])
    def test_an_unknown_lot_is_told_so(self, world, lot):
        assert world.office.get(f"/lots/{lot}/").status_code == 404

    def test_a_stranger_finds_none_of_it(self, world):
        lay(world.fleet_roof)

        assert world.stranger.get(f"/lots/{LOT}/").status_code == 404
