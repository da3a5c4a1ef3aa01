"""One coach from its first survey to today, note by note."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import partial
from uuid import UUID

from fleet.actions.coaches import description, hand_over, new_coach, retire_coach
from fleet.actions.recording import Recording
from fleet.actions.roofs import installation, start_chain
from fleet.models import (
    Coach,
    CoachDescription,
    CoachFact,
    Owner,
    Ownership,
    Roof,
    Technician,
    User,
)
from warranty.actions.promises import cover
from warranty.demo import laying
from warranty.demo.chance import Chance
from warranty.demo.course import Course, course_of
from warranty.demo.diary import OFFICE, Calendar, Diary
from warranty.demo.fates import Fate
from warranty.demo.plan import CoachPlan, Owners, RoofPlan
from warranty.demo.rereads import film_as_typed
from warranty.demo.turns import tell_turn
from warranty.demo.visits import RoofStory
from warranty.models import Registration, TermsAssignment

# Seeds of a mistyped number: the letter O for the digit, seen at the next look.
MISTYPED_SHARE = 0.06
SMALL_FINDING_SHARE = 0.22


@dataclass(frozen=True, slots=True, kw_only=True)
class Cast:
    """Everybody and everything a story may name."""

    calendar: Calendar
    owners: Owners
    people: dict[str, User]
    technicians: dict[str, Technician]


@dataclass(slots=True, kw_only=True)
class CoachStory:
    """One coach, its roofs, and the diary that tells of them."""

    plan: CoachPlan
    coach: Coach
    diary: Diary
    roofs: list[RoofStory]
    recorded: list[CoachFact] = field(default_factory=list)  # so far, as it is replayed
    retired_on: date | None = None


def tell(plan: CoachPlan, cast: Cast) -> CoachStory:
    """Make up the history of one coach."""
    diary = Diary(calendar=cast.calendar, chance=plan.chance)
    described = _description(plan)
    coach = new_coach(plan.unit_no, described, uuid=plan.chance.uuid())
    described.coach = coach
    story = CoachStory(plan=plan, coach=coach, diary=diary, roofs=[])
    surveyed_on = _survey_day(plan, plan.roofs[0], cast.calendar)
    held = Ownership(
        uuid=plan.chance.uuid(),
        coach=coach,
        owner=plan.owner,
        from_on=surveyed_on - timedelta(days=plan.chance.whole(30, 2000)),
    )
    if plan.fate is Fate.RETIRED:
        story.retired_on = _some_time_after(plan, cast.calendar)
    write = partial(_open_coach, story, [described, held])
    diary.note(surveyed_on, write, by=OFFICE)
    for number in range(1, len(plan.roofs) + 1):
        story.roofs.append(_tell_roof(story, number, surveyed_on, cast))
    _tell_coach(story, described, cast)
    return story


def _description(plan: CoachPlan) -> CoachDescription:
    vin, chance = plan.vin, plan.chance
    if "0" in vin and chance.happens(MISTYPED_SHARE):
        vin = vin.replace("0", "O", 1)
    town, state, time_zone = plan.town
    return description(
        length=plan.length_ft,
        width=plan.width_ft,
        length_unit="ft",
        vin=vin,
        model_year=plan.model_year,
        make=plan.make,
        model=plan.model,
        body=plan.body,
        town=town,
        state=state,
        time_zone=time_zone,
        uuid=chance.uuid(),
    )


def _open_coach(story: CoachStory, facts: list[CoachFact], made: Recording) -> None:
    story.coach.save()
    made.append_to_coach([], "coach", facts)
    story.recorded.extend(facts)


def _survey_day(plan: CoachPlan, roof: RoofPlan, calendar: Calendar) -> date:
    if plan.fate is Fate.SURVEYED:
        return calendar.yesterday - timedelta(days=plan.chance.whole(1, 25))
    return roof.started_on - timedelta(days=plan.chance.whole(4, 35))


def _some_time_after(plan: CoachPlan, calendar: Calendar) -> date:
    """Return a day well after the coating and well before today."""
    first = plan.roofs[-1].completed_on + timedelta(days=400)
    return plan.chance.day(first, calendar.today - timedelta(days=60))


def _tell_roof(
    story: CoachStory, number: int, first_survey_on: date, cast: Cast
) -> RoofStory:
    plan, chance, calendar = story.plan, story.plan.chance, cast.calendar
    roof_plan = plan.roofs[number - 1]
    until = calendar.yesterday
    if story.retired_on:
        until = story.retired_on - timedelta(days=1)
    if number < len(plan.roofs):
        until = plan.roofs[number].started_on - timedelta(days=60)
    surveyed_on = (
        first_survey_on if number == 1 else _survey_day(plan, roof_plan, calendar)
    )
    roof = Roof(uuid=chance.uuid(), coach=story.coach, roof_no=number)
    is_laid = plan.fate is not Fate.SURVEYED
    roof_story = RoofStory(
        plan=roof_plan,
        roof=roof,
        course=course_of(plan, roof_plan, calendar, until) if is_laid else Course(),
        until=until,
        diary=story.diary,
        chance=chance,
        technicians=cast.technicians,
    )
    story.diary.note(surveyed_on, partial(_open_roof, story, roof), by=OFFICE)
    roof_story.visit(surveyed_on, "SURVEY", by=roof_plan.crew)
    readings = laying.survey_readings(plan, roof_plan, surveyed_on)
    story.diary.facts(surveyed_on, roof, "survey", readings)
    if is_laid:
        _tell_laying(plan, roof_story)
        _tell_inspections(plan, roof_story)
        tell_turn(plan, roof_story, calendar, cast.people)
    return roof_story


def _open_roof(story: CoachStory, roof: Roof, made: Recording) -> None:
    """Open a roof; what is known of the coach by then stands at its chain's head."""
    roof.opened_at = made.now
    roof.save()
    start_chain(made, roof, story.recorded)


def _tell_laying(plan: CoachPlan, story: RoofStory) -> None:
    work, diary, chance = story.plan, story.diary, story.chance
    done, roof = work.completed_on, story.roof
    story.visit(done, "INSTALLATION", by=work.crew)
    story.penetrations = laying.penetrations(plan, work.started_on)
    read = laying.film(plan, work)
    laid = installation(
        system=work.system,
        substrate=work.substrate,
        started_on=work.started_on,
        completed_on=done,
        uuid=chance.uuid(),
    )
    diary.facts(done, roof, "installation", [laid])
    diary.facts(done, roof, "penetrations", story.penetrations)
    diary.facts(done, roof, "climate", laying.climate(plan, work))
    diary.facts(done, roof, "coats", laying.coat_logs(plan, work, read))
    diary.facts(done, roof, "film", film_as_typed(plan, story, read))
    diary.note(done, partial(_promise, story, chance.uuid()), by=OFFICE)
    registered_on = _registered_on(plan, work)
    if registered_on and registered_on < story.until:
        card = Registration(uuid=chance.uuid(), registered_on=registered_on)
        diary.facts(registered_on, roof, "registration", [card], by=OFFICE)


def _promise(story: RoofStory, uuid: UUID, made: Recording) -> None:
    edition = story.plan.edition
    fact = TermsAssignment(
        uuid=uuid, edition=edition, happened_on=story.plan.completed_on
    )
    made.append(story.roof, "terms", [fact])
    cover(made, story.roof, edition)


def _registered_on(plan: CoachPlan, work: RoofPlan) -> date | None:
    limit = work.edition.registration_days
    if plan.fate is Fate.NEVER_REGISTERED:
        return None
    days = plan.chance.whole(1, limit - 3)
    if plan.fate in {Fate.REGISTERED_LATE, Fate.LATE_BUT_WAIVED}:
        days = limit + plan.chance.whole(3, 40)
    return work.completed_on + timedelta(days=days)


def _tell_inspections(plan: CoachPlan, story: RoofStory) -> None:
    chance = story.chance
    late = chance.whole(0, max(0, len(story.course.inspections) - 2))
    for number, planned in enumerate(story.course.inspections):
        seen = chance.happens(SMALL_FINDING_SHARE)
        found = [story.small_finding(planned.on)] if seen else []
        typed_late = plan.fate is Fate.TYPED_LATE and number == late
        story.visit(
            planned.on,
            planned.kind,
            "PASS",
            findings=found,
            after_days=chance.whole(100, 150) if typed_late else None,
            note="Sheet found behind the seat of the van." if typed_late else "",
        )


def _tell_coach(story: CoachStory, described: CoachDescription, cast: Cast) -> None:
    plan, chance = story.plan, story.plan.chance
    if described.vin != plan.vin and plan.fate is not Fate.SURVEYED:
        on = min(story.roofs[0].until, plan.roofs[0].completed_on + timedelta(days=90))
        story.diary.note(on, partial(_correct, story, described, chance.uuid()))
    if plan.fate in {Fate.SOLD, Fate.SOLD_ACROSS}:
        buyer = _buyer(plan, cast.owners, chance)
        on = _some_time_after(plan, cast.calendar)
        uuid = chance.uuid()
        story.diary.note(on, partial(_sell, story, buyer, on, uuid), by=OFFICE)
    if story.retired_on:
        uuid = chance.uuid()
        write = partial(_retire, story, story.retired_on, uuid)
        story.diary.note(story.retired_on, write, by=OFFICE, after_days=9)


def _buyer(plan: CoachPlan, owners: Owners, chance: Chance) -> Owner:
    """Return a buyer; one of the other kind where the fate wants it."""
    across = plan.fate is Fate.SOLD_ACROSS
    to_fleet = plan.is_rental != across
    buyers = owners.fleets if to_fleet else owners.private
    return chance.pick([owner for owner in buyers if owner != plan.owner])


def _correct(
    story: CoachStory, old: CoachDescription, uuid: UUID, made: Recording
) -> None:
    right = description(
        length=old.length,
        width=old.width,
        length_unit=old.length_unit,
        vin=story.plan.vin,
        model_year=old.model_year,
        make=old.make,
        model=old.model,
        body=old.body,
        town=old.town,
        state=old.state,
        time_zone=old.time_zone,
        uuid=uuid,
        supersedes=old.uuid,
    )
    right.coach = story.coach
    opened = [roof.roof.pk for roof in story.roofs if roof.roof.pk is not None]
    made.append_to_coach(opened, "coach", [right])
    story.recorded.append(right)


def _sell(
    story: CoachStory, buyer: Owner, on: date, uuid: UUID, made: Recording
) -> None:
    held = hand_over(
        coach=story.coach, owner=buyer, from_on=on, by=made.by, now=made.now, uuid=uuid
    )
    story.recorded.append(held)


def _retire(story: CoachStory, on: date, uuid: UUID, made: Recording) -> None:
    retire_coach(coach=story.coach, retired_on=on, by=made.by, now=made.now, uuid=uuid)
