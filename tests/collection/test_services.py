"""Drawing a sample, handing out its walks, and saying what could not be examined."""

import pytest
from django.core.exceptions import PermissionDenied, ValidationError

from survey.access.models import AuditEntry, Person
from survey.catalogue.models import Object
from survey.collection import services
from survey.collection.design import CannotSample
from survey.collection.models import CollectionSurvey, Stop, SurveyPlace
from survey.collection.queries import Plan, State, parts_of, propose, stands_of
from survey.collection.services import draw_survey, hand_out, say_missing, take_back
from survey.examination.models import Visit
from survey.sync import registry
from survey.sync.models import Change
from tests.collection.store import examine, handed_out, small_store
from tests.factories import ObjectFactory, PersonFactory
from tests.sync.wire import Tablet

pytestmark = pytest.mark.django_db

TWELVE = Plan(divided_by="room", margin_points=None, number=12)


@pytest.fixture
def person() -> Person:
    return PersonFactory(first_name="Maren", last_name="Askerby")


@pytest.fixture
def courier() -> Person:
    return PersonFactory(role=Person.Role.COURIER)


@pytest.fixture
def survey(person: Person) -> CollectionSurvey:
    small_store()
    return draw_survey(TWELVE, name="The two rooms", person=person, seed=7)


def test_a_plan_says_what_it_would_draw_and_how_long_that_takes() -> None:
    small_store()
    proposal = propose(Plan(divided_by="room", margin_points=10, minutes_an_object=15))
    # 40 objects: 96.04 / (1 + 95.04 / 40) = 28.4.
    assert (proposal.size, proposal.asked, proposal.sample) == (40, 29, 29)
    assert proposal.hours == 29 * 15 / 60
    assert proposal.margin_points <= 10
    west, east = proposal.strata
    assert (west.name, west.size, west.drawn + east.drawn) == ("West room", 20, 29)
    assert west.margin_points > proposal.margin_points


def test_a_wide_margin_still_takes_two_of_each_stratum() -> None:
    small_store()
    proposal = propose(Plan(divided_by="shelf", margin_points=40))
    assert proposal.asked < 8
    assert proposal.drawn == [2, 2, 2, 2]


def test_a_sample_is_kept_in_shelf_order_and_its_seed_draws_it_again(
    survey: CollectionSurvey, person: Person
) -> None:
    again = draw_survey(TWELVE, name="Again", person=person, seed=7)
    numbers = [
        list(one.places.values_list("object__accession_number", flat=True))
        for one in (survey, again)
    ]
    assert numbers[0] == numbers[1]
    assert len(numbers[0]) == 12
    shelves = [number.split(".")[0] for number in numbers[0]]
    assert shelves == sorted(shelves)
    assert [(one.name, one.size, one.places.count()) for one in survey.strata.all()] == [
        ("West room", 20, 6),
        ("East room", 20, 6),
    ]
    entry = AuditEntry.objects.filter(action="survey drawn").last()
    assert entry is not None
    assert entry.detail == {"objects": 40, "drawn": 12, "seed": 7}


def test_what_cannot_be_drawn_leaves_nothing_behind(person: Person) -> None:
    small_store()
    with pytest.raises(CannotSample, match="larger than the store, which holds 40"):
        draw_survey(Plan(margin_points=None, number=41), name="Too many", person=person)
    with pytest.raises(ValidationError, match="At least one object"):
        draw_survey(Plan(objects_a_box=0), name="No boxes", person=person)
    assert not CollectionSurvey.objects.exists()


def test_a_stratum_of_one_is_drawn_whole(person: Person) -> None:
    small_store()
    ObjectFactory(media="Red chalk", location=Object.objects.all()[0].location)
    plan = Plan(divided_by="medium", margin_points=None, number=5)
    drawn = draw_survey(plan, name="By medium", person=person)
    assert [(one.size, one.places.count()) for one in drawn.strata.all()] == [(40, 4), (1, 1)]


def test_a_walk_is_a_visit_with_its_stops_in_shelf_order(
    survey: CollectionSurvey, person: Person
) -> None:
    walker = PersonFactory()
    visit = hand_out(survey, person=person, to=walker, number=5, words="Lift nothing out.")
    assert (visit.purpose, visit.name, visit.person) == (
        "storage-round",
        "The two rooms, part 1",
        walker,
    )
    assert visit.note == "Lift nothing out."
    stops = list(visit.stops.all())
    drawn = list(survey.places.values_list("object", flat=True))[:5]
    assert [stop.object_id for stop in stops] == drawn
    assert [stop.order for stop in stops] == [1, 2, 3, 4, 5]
    assert Change.objects.filter(entity="stop").count() == 5
    assert not Stop.objects.filter(revision=0).exists()
    second = hand_out(survey, person=person, to=walker, number=7)
    assert second.name == "The two rooms, part 2"
    assert {stand.state for stand in stands_of(survey)} == {State.WAITING}
    with pytest.raises(ValidationError, match="handed out already"):
        hand_out(survey, person=person, to=walker, number=1)


def test_an_object_that_moved_since_is_walked_where_it_stands_now(
    survey: CollectionSurvey, person: Person
) -> None:
    first, last = survey.places.first(), survey.places.last()
    assert first is not None and last is not None
    Object.objects.filter(pk=first.object_id).update(location=last.object.location)
    visit = hand_out(survey, person=person, to=person, number=12)
    walked = [stop.object_id for stop in visit.stops.all()]
    assert walked.index(first.object_id) > 5


@pytest.mark.parametrize("number", [0, 13])
def test_no_more_are_handed_out_than_were_drawn(
    survey: CollectionSurvey, person: Person, number: int
) -> None:
    with pytest.raises(ValidationError, match="12 objects are left to hand out"):
        hand_out(survey, person=person, to=person, number=number)
    assert not Visit.objects.exists()


def test_couriers_neither_design_nor_walk(
    survey: CollectionSurvey, person: Person, courier: Person
) -> None:
    with pytest.raises(PermissionDenied):
        draw_survey(TWELVE, name="Mine", person=courier)
    with pytest.raises(PermissionDenied):
        hand_out(survey, person=courier, to=person, number=1)
    with pytest.raises(ValidationError, match="hand it to a conservator"):
        hand_out(survey, person=person, to=courier, number=1)


def test_a_walk_that_nobody_began_is_taken_back(survey: CollectionSurvey, person: Person) -> None:
    visit = hand_out(survey, person=person, to=person, number=12)
    take_back(survey, visit, person=person)
    visit.refresh_from_db()
    assert visit.deleted_at is not None
    assert not Stop.objects.filter(deleted_at=None).exists()
    assert {stand.state for stand in stands_of(survey)} == {State.NOT_HANDED_OUT}
    with pytest.raises(ValidationError, match="taken back already"):
        take_back(survey, visit, person=person)
    assert hand_out(survey, person=person, to=person, number=12).stops.count() == 12


def test_a_walk_that_was_begun_stays(survey: CollectionSurvey, person: Person) -> None:
    visit = hand_out(survey, person=person, to=person, number=3)
    examine(handed_out(survey)[0], signed=False)
    with pytest.raises(ValidationError, match="Something was done"):
        take_back(survey, visit, person=person)
    [part] = parts_of(stands_of(survey))
    assert not part.may_be_taken_back


def test_what_could_not_be_examined_is_told_with_a_reason_and_stays_in_the_sample(
    survey: CollectionSurvey, person: Person
) -> None:
    not_yet = survey.places.first()
    assert not_yet is not None
    with pytest.raises(ValidationError, match="Hand this object out first"):
        say_missing(not_yet, person=person, why="Not there.")
    hand_out(survey, person=person, to=person, number=2)
    place = handed_out(survey)[0]
    say_missing(place, person=person, why="Not in the drawer.")
    [stand, *_] = stands_of(survey)
    assert (stand.state, stand.missing) == (State.MISSING, "Not in the drawer.")
    assert SurveyPlace.objects.filter(survey=survey).count() == 12
    say_missing(place, person=person, why="")
    assert stands_of(survey)[0].state is State.WAITING
    # Found and signed after all: that counts, whatever was said before.
    say_missing(place, person=person, why="Not in the drawer.")
    examine(place)
    assert stands_of(survey)[0].state is State.EXAMINED


def test_a_tablet_says_what_is_missing_and_alters_nothing_else_of_a_walk(
    survey: CollectionSurvey, person: Person
) -> None:
    hand_out(survey, person=person, to=person, number=1)
    [place] = handed_out(survey)
    tablet = Tablet()
    stop = {"entity": "stop", "entity_id": str(place.stop_id)}
    assert tablet.push({"missing": "At the framer's."}, **stop).outcome == "applied"
    refused = tablet.push({"order": 9}, **stop)
    assert refused.reasons == {"order": "A tablet cannot set “order”."}
    examine(place)
    kept = tablet.push({"deleted": True}, **stop)
    assert "stays a part of it" in kept.reasons[""]
    made_up = tablet.push({"missing": "No."}, entity="stop", entity_id=str(place.object_id))
    assert made_up.outcome == "refused"


def test_a_survey_goes_only_while_no_walk_is_out(survey: CollectionSurvey, person: Person) -> None:
    visit = hand_out(survey, person=person, to=person, number=1)
    with pytest.raises(ValidationError, match="take it back first"):
        services.remove_survey(survey, person=person)
    take_back(survey, visit, person=person)
    services.remove_survey(survey, person=person)
    assert not CollectionSurvey.objects.exists()
    assert AuditEntry.objects.filter(action="survey removed").exists()


def test_a_device_carries_the_stops_of_what_stands_in_its_places(
    survey: CollectionSurvey, person: Person
) -> None:
    hand_out(survey, person=person, to=person, number=12)
    west = Object.objects.get(accession_number="1.1").location
    assert west is not None and west.parent is not None
    entity = registry.named("stop")
    assert entity is not None
    carried = entity.in_scope(Stop.objects.all(), {"locations": [str(west.parent_id)]})
    assert carried.count() == 6
