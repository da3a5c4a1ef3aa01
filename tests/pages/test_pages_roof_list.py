from __future__ import annotations

from datetime import date

import pytest

from tests import builders
from tests.pages.conftest import client_of
from warranty.selectors import roof_list as listing

LIST = "/roofs/"


def coaches_in(response) -> list[str]:
    return [row.roof.coach.unit_no for row in response.context["found"].rows]


def test_the_office_sees_every_roof(world):
    response = world.office.get(LIST)

    assert len(coaches_in(response)) == 2


def test_a_technician_sees_every_roof(world):
    assert len(coaches_in(world.technician.get(LIST))) == 2


def test_a_fleet_manager_sees_own_coaches_only(world):
    assert coaches_in(world.manager.get(LIST)) == ["HL-7001"]


def test_a_stranger_sees_an_empty_list_that_says_so(world):
    response = world.stranger.get(LIST)

    assert "No roofs on record yet" in response.text
    assert "HL-7001" not in response.text


def test_nobody_is_asked_to_sign_in_first(world):
    response = world.nobody.get(f"{LIST}?q=gull")

    assert response.status_code == 302
    assert response.headers["Location"] == "/sign-in?next=/roofs/%3Fq%3Dgull"


@pytest.mark.parametrize(
    "words", ["hl-7001", "8848dbr07", "sandbar", "gull", "Gull sandbar"]
)
def test_search_finds_by_number_vin_owner_and_town(world, words):
    assert coaches_in(world.office.get(LIST, {"q": words})) == ["HL-7001"]


def test_every_word_of_a_search_must_fit(world):
    assert coaches_in(world.office.get(LIST, {"q": "gull nowhere"})) == []


def test_search_never_reaches_beyond_own_coaches(world):
    assert coaches_in(world.stranger.get(LIST, {"q": "HL-7001"})) == []


def test_a_signed_in_search_without_a_hit_offers_the_way_back(world):
    response = world.office.get(LIST, {"q": "nowhere"})

    assert "Nothing fits" in response.text


def test_filter_by_standing(world):
    builders.make_roof(coach=builders.make_coach(unit_no="HL-7002"))

    in_force = coaches_in(world.office.get(LIST, {"standing": "IN_FORCE"}))
    without = coaches_in(world.office.get(LIST, {"standing": "NONE"}))

    assert "HL-7001" in in_force
    assert without == ["HL-7002"]


def test_filter_by_the_month_of_the_next_inspection(world):
    hit = coaches_in(world.office.get(LIST, {"due": "2027-05"}))
    miss = coaches_in(world.office.get(LIST, {"due": "2027-06"}))

    assert "HL-7001" in hit
    assert miss == []


def test_an_unknown_standing_in_the_address_is_told_at_its_field(world):
    response = world.office.get(LIST, {"standing": "SHINY"})

    assert "id_standing_error" in response.text
    assert response.status_code == 200


def test_the_standing_is_written_in_words(world):
    assert "In force" in world.manager.get(LIST).text


def test_pages_keep_the_filters_in_the_address(world, monkeypatch):
    monkeypatch.setattr(listing, "PAGE_ROOFS", 1)

    response = world.office.get(LIST, {"standing": "IN_FORCE", "sort": "due"})

    assert "?standing=IN_FORCE&amp;sort=due&amp;page=2" in response.text
    second = world.office.get(LIST, {"standing": "IN_FORCE", "page": "2"})
    assert coaches_in(second) != coaches_in(response)


@pytest.mark.parametrize("page", ["0", "999", "x", "-1", "99999999999"])
def test_an_impossible_page_is_the_nearest_one(world, page):
    assert coaches_in(world.manager.get(LIST, {"page": page})) == ["HL-7001"]


def test_sorting_by_due_date_puts_roofs_without_one_last(world):
    builders.make_roof(coach=builders.make_coach(unit_no="AA-0001"))

    assert coaches_in(world.office.get(LIST, {"sort": "due"}))[-1] == "AA-0001"


def test_htmx_is_given_the_results_alone(world):
    response = world.office.get(LIST, headers={"HX-Request": "true"})

    assert "<html" not in response.text
    assert "HL-7001" in response.text


def test_the_number_of_queries_does_not_grow_with_the_list(
    world, django_assert_max_num_queries, django_assert_num_queries
):
    world.office.get(LIST)
    with django_assert_num_queries(5) as few:
        world.office.get(LIST)
    for _ in range(3):
        builders.make_promised_roof()

    with django_assert_num_queries(len(few)):
        world.office.get(LIST)


def test_a_standing_that_no_longer_holds_is_asked_again(world, monkeypatch):
    # Due 5 May 2027 and 60 days of grace: on 1 June 2027 the roof is at risk, though
    # the sweep has not come by since it was in force.
    later = builders.NOON.replace(year=2027)
    monkeypatch.setattr("django.utils.timezone.now", lambda: later)

    manager = client_of(builders.make_manager(world.fleet))  # sessions have run out
    [row] = manager.get(LIST).context["found"].rows

    assert (row.standing, row.next_due_on) == ("AT_RISK", date(2027, 5, 5))


def test_a_page_is_never_kept_in_a_shared_cache(world):
    assert "no-store" in world.office.get(LIST).headers["Cache-Control"]
