"""Reads surveys: what a plan would draw, the walk, and what the walk has found so far."""

import enum
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.db.models import Count, Prefetch, QuerySet

from survey.catalogue.models import Location
from survey.collection import design
from survey.collection.models import CollectionSurvey, SurveyPlace
from survey.collection.population import Population, Walk, population_of
from survey.examination.amended import amended, one_of
from survey.examination.models import (
    Amendment,
    Examination,
    Observation,
    Recommendation,
    Visit,
)
from survey.vocabulary import queries as vocabulary

REHOUSE = "rehouse"
MINUTES_AN_HOUR = 60


@dataclass(frozen=True)
class Plan:
    """What a person asks of a survey.

    branch          a place and all that it holds; None is the whole tree
    margin_points   the margin wanted, ± percentage points; None where ``number`` says how many
    """

    branch: Location | None = None
    studio: str = ""
    divided_by: str = ""
    margin_points: float | None = 5.0
    number: int | None = None
    expected_percent: float = 50.0
    confidence_percent: float = 95.0
    minutes_an_object: float = 10.0
    objects_a_box: int = 20


@dataclass(frozen=True)
class PlannedStratum:
    """margin_points: what the sample would tell of this stratum alone, ± percentage points."""

    name: str
    size: int
    drawn: int
    margin_points: float


@dataclass(frozen=True)
class Proposal:
    """What a plan would draw.

    asked  what the margin alone asks for; the sample is larger where each stratum needs its two
    """

    plan: Plan
    population: Population
    asked: int
    drawn: list[int]

    @property
    def size(self) -> int:
        return sum(self.population.sizes)

    @property
    def sample(self) -> int:
        return sum(self.drawn)

    @property
    def hours(self) -> float:
        return self.sample * self.plan.minutes_an_object / MINUTES_AN_HOUR

    @property
    def margin_points(self) -> float:
        return self._margin(self.size, self.sample)

    @property
    def strata(self) -> list[PlannedStratum]:
        return [
            PlannedStratum(stratum.name, stratum.size, drawn, self._margin(stratum.size, drawn))
            for stratum, drawn in zip(self.population.strata, self.drawn, strict=True)
        ]

    def _margin(self, size: int, sample: int) -> float:
        expected, confidence = self.plan.expected_percent, self.plan.confidence_percent
        return 100 * design.margin_of(size, sample, expected / 100, confidence / 100)


def propose(plan: Plan) -> Proposal:
    """What the plan would draw of the store as it stands now.

    Raises CannotSample, with a sentence, where it cannot be drawn.
    """
    population = population_of(plan.branch, plan.studio, plan.divided_by)
    sizes = population.sizes
    if plan.number is not None:
        return Proposal(plan, population, plan.number, design.allocate(sizes, plan.number))
    asked = design.size_for(
        sum(sizes),
        (plan.margin_points or 0) / 100,
        plan.expected_percent / 100,
        plan.confidence_percent / 100,
    )
    sample = max(asked, design.fewest(sizes))
    return Proposal(plan, population, asked, design.allocate(sizes, sample))


class State(enum.Enum):
    """How far one object of the sample is."""

    EXAMINED = "Examined"
    BEGUN = "Begun, not yet signed"
    MISSING = "Could not be examined"
    WAITING = "Handed out"
    NOT_HANDED_OUT = "Not handed out yet"


@dataclass(frozen=True)
class Found:
    """What the signed examination of one object says, its amendments counted.

    grade                   code; "" when it was not graded
    damage, features, undecided   terms by code, each once however often it was seen
    hours                   of all recommended work; ``unpriced`` recommendations name none
    rehouse                 whether rehousing is recommended
    """

    grade: str
    damage: frozenset[str]
    features: frozenset[str]
    undecided: frozenset[str]
    hours: float
    unpriced: int
    rehouse: bool


@dataclass(frozen=True)
class Stand:
    """One place of the sample: how far it is, and what was found."""

    place: SurveyPlace
    state: State
    examination: Examination | None = None
    found: Found | None = None

    @property
    def missing(self) -> str:
        return self.place.stop.missing if self.place.stop else ""


@dataclass(frozen=True)
class Part:
    """One walk that was handed out, in its order."""

    visit: Visit
    stands: list[Stand] = field(default_factory=list)

    def count(self, *states: State) -> int:
        return sum(stand.state in states for stand in self.stands)

    @property
    def examined(self) -> int:
        return self.count(State.EXAMINED)

    @property
    def missing(self) -> int:
        return self.count(State.MISSING)

    @property
    def may_be_taken_back(self) -> bool:
        return not self.count(State.EXAMINED, State.BEGUN, State.MISSING)


def surveys() -> "QuerySet[CollectionSurvey]":
    """Newest first, each with ``drawn``: how many objects were drawn."""
    return CollectionSurvey.objects.select_related("branch", "designed_by").annotate(
        drawn=Count("places")
    )


def stands_of(survey: CollectionSurvey) -> list[Stand]:
    """Every place of the sample, in the order it was drawn; six queries.

    The latest signed examination that was made on a walk of this survey counts. Another one, made
    before or on another visit, does not: it was not made of this sample.
    """
    places = list(
        survey.places.select_related("object__location", "stratum", "stop__visit__person")
    )
    made = _examinations({place.stop.visit_id for place in places if place.stop is not None})
    return [_stand(place, made.get(place.object_id)) for place in places]


def parts_of(stands: Iterable[Stand]) -> list[Part]:
    """The walks that were handed out, the first one first."""
    parts: dict[Any, Part] = {}
    for stand in stands:
        stop = stand.place.stop
        if stop is not None:
            parts.setdefault(stop.visit_id, Part(stop.visit)).stands.append(stand)
    for part in parts.values():
        part.stands.sort(key=lambda stand: stand.place.stop.order if stand.place.stop else 0)
    return sorted(parts.values(), key=lambda part: (part.visit.started_at, part.visit.pk))


def not_handed_out(stands: Iterable[Stand]) -> list[Stand]:
    """The rest of the sample, in the order a walk passes it where it stands now."""
    tree = Walk()
    return sorted(
        (stand for stand in stands if stand.state is State.NOT_HANDED_OUT),
        key=lambda stand: tree.key(
            stand.place.object.location_id, stand.place.object.accession_number
        ),
    )


def _examinations(visits: set[UUID]) -> dict[UUID, Examination]:
    """The examination that counts of each object: signed before unsigned, then the latest."""
    living = {"deleted_at": None}
    rows = (
        Examination.objects.filter(visit__in=visits, **living)
        .prefetch_related(
            Prefetch("observations", Observation.objects.filter(**living)),
            Prefetch("recommendations", Recommendation.objects.filter(**living)),
            Prefetch("amendments", Amendment.objects.filter(**living).order_by("signed_at", "id")),
        )
        .order_by("started_at", "id")
    )
    return {
        examination.object_id: examination
        for examination in sorted(rows, key=lambda examination: examination.is_signed)
    }


def _stand(place: SurveyPlace, examination: Examination | None) -> Stand:
    if place.stop is None:
        return Stand(place, State.NOT_HANDED_OUT)
    if examination is not None and examination.is_signed:
        return Stand(place, State.EXAMINED, examination, found_by(examination))
    if place.stop.missing:
        return Stand(place, State.MISSING, examination)
    return Stand(place, State.BEGUN if examination else State.WAITING, examination)


def found_by(examination: Examination) -> Found:
    """Its observations, recommendations and amendments are best prefetched."""
    amendments = list(examination.amendments.all())
    grades = [grade["code"] for grade in vocabulary.grades()]
    graded, _ = amended(
        {"grade": examination.grade},
        "examination",
        amendments,
        {"grade": one_of(["", *grades])},
    )
    terms: dict[str, set[str]] = {nature: set() for nature in Observation.Nature.values}
    for observation in examination.observations.all():
        said, _ = amended(
            {"nature": observation.nature},
            f"observation:{observation.pk}",
            amendments,
            {"nature": one_of(Observation.Nature.values)},
        )
        terms[said["nature"]].add(observation.term_id)
    kinds = [kind["code"] for kind in vocabulary.kinds_of_work()]
    work = [
        amended(
            {"hours": one.hours, "kind_of_work": one.kind_of_work},
            f"recommendation:{one.pk}",
            amendments,
            {"hours": _are_hours, "kind_of_work": one_of(kinds)},
        )[0]
        for one in examination.recommendations.all()
    ]
    return Found(
        grade=graded["grade"],
        damage=frozenset(terms["damage"]),
        features=frozenset(terms["feature"]),
        undecided=frozenset(terms["unsure"] - terms["damage"]),
        hours=sum(one["hours"] or 0.0 for one in work),
        unpriced=sum(one["hours"] is None for one in work),
        rehouse=any(one["kind_of_work"] == REHOUSE for one in work),
    )


def _are_hours(value: Any) -> bool:
    return value is None or (isinstance(value, int | float) and not isinstance(value, bool))
