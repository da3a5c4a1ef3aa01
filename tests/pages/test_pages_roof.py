from __future__ import annotations

from datetime import date, timedelta
from html.parser import HTMLParser

import pytest

from fleet.actions.coaches import hand_over
from fleet.actions.roofs import record, record_visit, text
from fleet.models import CoatRole, Finding, OwnerKind, Severity, VisitKind, VisitResult
from tests import builders

VOID = {"meta", "link", "input", "br", "hr", "img"}


class Tags(HTMLParser):
    """Collects what a page opens, and fails where something is closed wrongly."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.ids: list[str] = []
        self.headings: list[int] = []
        self.inline: list[str] = []

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        if "id" in given:
            self.ids.append(given["id"])
        if len(tag) == 2 and tag[0] == "h" and tag[1].isdigit():
            self.headings.append(int(tag[1]))
        self.inline += [n for n in given if n == "style" or n.startswith("on")]
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


def tags_of(response) -> Tags:
    tags = Tags()
    tags.feed(response.text)
    assert tags.open == []
    return tags


def address(roof) -> str:
    return f"/roofs/{roof.uuid}/"


@pytest.mark.parametrize("who", ["office", "technician", "manager"])
def test_whoever_may_see_the_roof_reads_its_standing(world, who):
    response = getattr(world, who).get(address(world.fleet_roof))

    assert response.status_code == 200
    assert "<span>In force</span>" in response.text


def test_another_owners_roof_is_not_found(world):
    assert world.stranger.get(address(world.fleet_roof)).status_code == 404
    assert world.manager.get(address(world.private_roof)).status_code == 404


def test_a_foreign_roof_answers_as_one_that_does_not_exist(world):
    foreign = world.manager.get(address(world.private_roof))
    unknown = world.manager.get("/roofs/00000000-0000-4000-8000-000000000000/")

    def without_token(answer):
        at = answer.text.find("csrfmiddlewaretoken")
        return answer.text[:at] + answer.text[at + 120 :]

    assert without_token(foreign) == without_token(unknown)


def test_every_clause_is_explained(world):
    shown = world.office.get(address(world.fleet_roof))

    titles = [clause.title for clause in shown.context["clauses"]]
    assert len(titles) == 10
    assert all(title in shown.text for title in titles)


def test_an_earlier_day_gives_the_standing_of_that_day(world):
    day_before = builders.COMPLETED - timedelta(days=1)

    shown = world.office.get(address(world.fleet_roof), {"as_of": day_before})

    assert "<span>Pending</span>" in shown.text


def test_in_grace_the_page_says_why_and_until_when(world):
    # Due on 5 May 2027; 60 days of grace end on 4 July 2027.
    shown = world.office.get(address(world.fleet_roof), {"as_of": "2027-05-06"})

    assert "<span>At risk</span>" in shown.text
    reason = (
        'The inspection due on <time datetime="2027-05-05">5 May 2027</time> is late; '
        'it still counts until <time datetime="2027-07-04">4 July 2027</time>.'
    )
    assert reason in shown.text


def test_before_anything_was_recorded_the_page_says_so(world):
    shown = world.office.get(
        address(world.fleet_roof), {"known_at": "2020-01-01T00:00"}
    )

    assert "Nothing was recorded by then" in shown.text


def test_what_was_recorded_later_is_not_known_earlier(world):
    roof = world.fleet_roof
    record_visit(
        roof=roof,
        ref="V-77",
        kind=VisitKind.INSPECTION,
        happened_on=builders.TODAY,
        result=VisitResult.PASS,
        by=builders.office(),
        now=builders.NOON,
    )

    now = world.office.get(address(roof))
    before = world.office.get(address(roof), {"known_at": "2026-05-31T12:00"})

    assert "V-77" in now.text
    assert "V-77" not in before.text


@pytest.mark.parametrize("day", ["yesterday", "2026-02-30", "0001-01-01"])
def test_a_day_that_cannot_be_asked_is_told_at_its_field(world, day):
    shown = world.office.get(address(world.fleet_roof), {"as_of": day})

    assert shown.status_code == 200
    assert 'id="id_as_of_error"' in shown.text


def test_a_roof_without_a_promise_says_so(world):
    roof = builders.make_roof()

    assert "No promise made" in world.office.get(address(roof)).text


def test_a_finding_stands_on_the_plan_and_in_the_visits(world):
    finding = Finding(
        happened_on=builders.TODAY,
        severity=Severity.SERIOUS,
        penetration_label="vent 1",
        note=text("split <sealant>"),
    )
    record_visit(
        roof=world.fleet_roof,
        ref="V-78",
        kind=VisitKind.INSPECTION,
        happened_on=builders.TODAY,
        result=VisitResult.FAIL,
        findings=[finding],
        by=builders.office(),
        now=builders.NOON,
    )

    shown = world.office.get(address(world.fleet_roof))

    assert shown.text.count("split &lt;sealant&gt;") == 2
    assert 'class="finding"' in shown.text


def test_readings_with_a_place_are_drawn_as_a_map(world):
    placed = [
        builders.make_reading(
            area_no=2, spot_no=spot, x_m=spot, y_m=1, happened_on=builders.COMPLETED
        )
        for spot in (1, 2, 3)
    ]
    record(
        roof=world.fleet_roof,
        kind="film",
        facts=placed,
        by=builders.office(),
        now=builders.NOON,
    )

    shown = world.office.get(address(world.fleet_roof))

    assert shown.text.count('<circle class="reading"') == 3 + 1  # and one in the key
    assert "never used for acceptance" in shown.text


def test_the_map_can_be_left_out(world):
    shown = world.office.get(address(world.fleet_roof), {"coat": "none"})

    assert shown.context["drawn"].plan.film is None


def test_film_is_called_estimated_and_its_rule_borrowed(world):
    shown = world.office.get(address(world.fleet_roof))

    assert "<b>Estimated</b> dry film" in shown.text
    assert "written for dry film on metal" in shown.text
    assert CoatRole.BASE.label.capitalize() in shown.text


def test_a_new_holder_never_reads_the_former_holders_name(world):
    new = builders.make_owner(name="Heron Rentals", kind=OwnerKind.RENTAL_FLEET)
    hand_over(
        coach=world.fleet_roof.coach,
        owner=new,
        from_on=date(2026, 5, 25),
        by=builders.office(),
        now=builders.NOON,
    )
    claim = builders.make_claim(world.fleet_roof, noticed_on=date(2026, 5, 20))
    buyer = builders.make_manager(new)
    world.nobody.force_login(buyer)

    for day in ("2026-05-20", "2026-06-01"):
        shown = world.nobody.get(address(world.fleet_roof), {"as_of": day})
        assert shown.status_code == 200
        assert "Sandbar" not in shown.text
        assert claim.ref not in shown.text


def test_the_number_of_queries_does_not_grow_with_the_records(
    world, django_assert_max_num_queries
):
    # Counted once and held: a loop that asks per visit would show here.
    for number in range(6):
        record_visit(
            roof=world.fleet_roof,
            ref=f"V-9{number}",
            kind=VisitKind.INSPECTION,
            happened_on=builders.TODAY,
            result=VisitResult.PASS,
            technician_name=f"T. Yarrow {number}",
            by=builders.office(),
            now=builders.NOON,
        )
        builders.make_claim(world.fleet_roof)

    with django_assert_max_num_queries(49):
        world.office.get(address(world.fleet_roof))


@pytest.mark.parametrize(
    "query", ["", "?as_of=2027-05-06", "?known_at=2020-01-01T00:00"]
)
def test_the_page_is_well_formed_with_headings_in_order(world, query):
    builders.make_claim(world.fleet_roof)

    tags = tags_of(world.office.get(address(world.fleet_roof) + query))

    assert len(tags.ids) == len(set(tags.ids))
    assert tags.headings[0] == 1
    steps = zip(tags.headings, tags.headings[1:], strict=False)
    assert all(later - earlier <= 1 for earlier, later in steps)
    assert tags.inline == []


def test_the_list_and_the_sign_in_are_well_formed(world):
    for client, where in ((world.office, "/roofs/"), (world.nobody, "/sign-in")):
        tags = tags_of(client.get(where))
        assert len(tags.ids) == len(set(tags.ids))
        assert tags.inline == []


def test_a_page_weighs_less_than_a_hundred_kilobytes(world):
    assert len(world.office.get(address(world.fleet_roof)).content) < 100_000
