"""What changes surveys: samples are drawn, walks are handed out, and what is missing is told."""

from collections.abc import Sequence
from uuid import UUID

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.utils import timezone

from survey.access.models import Person
from survey.access.services import note
from survey.catalogue.models import Object
from survey.collection import design
from survey.collection.models import CollectionSurvey, Stop, SurveyPlace, SurveyStratum
from survey.collection.population import Walk
from survey.collection.queries import Plan, Proposal, not_handed_out, parts_of, propose, stands_of
from survey.examination.models import Visit
from survey.sync.services import Refused, log_many, record_change


def may_design(person: Person) -> bool:
    return not person.is_courier


def check_may_design(person: Person) -> None:
    """Raises PermissionDenied for couriers."""
    if not may_design(person):
        raise PermissionDenied(
            "Conservators and the head of department survey the collection; couriers read it."
        )


def draw_survey(
    plan: Plan, *, name: str, person: Person, seed: int | None = None
) -> CollectionSurvey:
    """Draw the sample that a plan asks for, and keep it. The same seed draws the same again.

    Raises PermissionDenied for couriers, ValidationError by field, and CannotSample with a
    sentence.
    """
    check_may_design(person)
    with transaction.atomic():
        proposal = propose(plan)
        survey = CollectionSurvey(
            name=name.strip(),
            branch=plan.branch,
            studio=plan.studio,
            divided_by=plan.divided_by,
            margin_points=plan.margin_points if plan.number is None else None,
            expected_percent=plan.expected_percent,
            confidence_percent=plan.confidence_percent,
            minutes_an_object=plan.minutes_an_object,
            objects_a_box=plan.objects_a_box,
            away=proposal.population.away,
            seed=design.new_seed() if seed is None else seed,
            designed_by=person,
        )
        survey.full_clean()
        survey.save()
        _keep_sample(survey, proposal)
        note(
            person,
            "survey drawn",
            survey.name,
            {"objects": proposal.size, "drawn": proposal.sample, "seed": survey.seed},
        )
    return survey


def hand_out(
    survey: CollectionSurvey, *, person: Person, to: Person, number: int, words: str = ""
) -> Visit:
    """Give the next so many objects of the sample to somebody as a walk in shelf order.

    The walk is a visit of theirs, which their tablet pulls, with a stop for each object. ``words``
    go with it as the visit's note. Raises PermissionDenied for couriers, and ValidationError with
    a sentence when so many are not left.
    """
    check_may_design(person)
    with transaction.atomic():
        survey = _alone_with(survey)
        stands = stands_of(survey)
        left = not_handed_out(stands)
        if not left:
            raise ValidationError("All objects of this sample are handed out already.")
        if not 1 <= number <= len(left):
            raise ValidationError(
                f"{len(left)} object{'s are' if len(left) > 1 else ' is'} left to hand out: give a "
                f"number from 1 to {len(left)}."
            )
        if not to.is_active or not may_design(to):
            raise ValidationError(
                f"{to.name} cannot walk a survey: hand it to a conservator or the head."
            )
        places = [stand.place for stand in left[:number]]
        part = len(parts_of(stands)) + 1
        visit: Visit = record_change(
            "visit",
            None,
            {
                "purpose": Visit.Purpose.STORAGE_ROUND,
                "name": f"{survey.name}, part {part}",
                "location": survey.branch,
                "place": "" if survey.branch else "The whole store",
                "person": to,
                "started_at": timezone.now(),
                "note": words.strip(),
            },
            person,
        )
        stops = [
            Stop(visit=visit, object=place.object, order=order)
            for order, place in enumerate(places, 1)
        ]
        Stop.objects.bulk_create(stops, batch_size=500)
        log_many("stop", stops, person)
        for place, stop in zip(places, stops, strict=True):
            place.stop = stop
        SurveyPlace.objects.bulk_update(places, ["stop"], batch_size=500)
        note(person, "survey handed out", visit.name, {"to": to.name, "objects": number})
    return visit


def take_back(survey: CollectionSurvey, visit: Visit, *, person: Person) -> None:
    """Undo a walk that nobody began: its objects can be handed out again.

    Raises PermissionDenied for couriers, and ValidationError when something was done on it.
    """
    check_may_design(person)
    with transaction.atomic():
        survey = _alone_with(survey)
        part = next((one for one in parts_of(stands_of(survey)) if one.visit == visit), None)
        if part is None:
            raise ValidationError("This walk was taken back already.")
        if not part.may_be_taken_back or visit.examinations.filter(deleted_at=None).exists():
            raise ValidationError(
                "Something was done on this walk already, so it stays. What is left of it can be "
                "examined by anyone on that visit."
            )
        for stand in part.stands:
            stop, stand.place.stop = stand.place.stop, None
            stand.place.save(update_fields=["stop"])
            record_change("stop", stop, {"deleted": True}, person)
        record_change("visit", visit, {"deleted": True}, person)
        note(person, "survey walk taken back", visit.name)


def say_missing(place: SurveyPlace, *, person: Person, why: str) -> None:
    """Say at the desk why an object could not be examined; "" takes it back.

    Raises PermissionDenied for couriers, and ValidationError for what was not handed out.
    """
    check_may_design(person)
    if place.stop is None:
        raise ValidationError("Hand this object out first: nobody was asked to look for it yet.")
    try:
        record_change("stop", place.stop, {"missing": why.strip()}, person)
    except Refused as refusal:
        raise ValidationError(list(refusal.reasons.values())) from refusal


def remove_survey(survey: CollectionSurvey, *, person: Person) -> None:
    """Take out a survey of which nothing is handed out. The audit trail keeps that it was.

    Raises PermissionDenied for couriers, and ValidationError while a walk is out.
    """
    check_may_design(person)
    with transaction.atomic():
        survey = _alone_with(survey)
        if survey.places.filter(stop__isnull=False).exists():
            raise ValidationError("A walk of this survey is handed out: take it back first.")
        note(person, "survey removed", survey.name, {"seed": survey.seed})
        survey.delete()


def _keep_sample(survey: CollectionSurvey, proposal: Proposal) -> None:
    strata = SurveyStratum.objects.bulk_create(
        SurveyStratum(survey=survey, order=order, name=stratum.name, size=stratum.size)
        for order, stratum in enumerate(proposal.population.strata)
    )
    drawn = design.draw(proposal.population.sizes, proposal.drawn, survey.seed)
    stratum_of = {
        members.objects[place]: stratum
        for stratum, members, places in zip(strata, proposal.population.strata, drawn, strict=True)
        for place in places
    }
    SurveyPlace.objects.bulk_create(
        (
            SurveyPlace(survey=survey, stratum=stratum_of[key], object_id=key, order=order)
            for order, key in enumerate(_in_shelf_order(list(stratum_of)), 1)
        ),
        batch_size=500,
    )


def _in_shelf_order(keys: Sequence[UUID]) -> list[UUID]:
    tree = Walk()
    rows = Object.objects.in_bulk(list(keys)).values()
    ordered = sorted(rows, key=lambda one: tree.key(one.location_id, one.accession_number))
    return [one.pk for one in ordered]


def _alone_with(survey: CollectionSurvey) -> CollectionSurvey:
    """Let one change to a survey be made at a time, or one object might be handed out twice."""
    return CollectionSurvey.objects.select_for_update().get(pk=survey.pk)
