"""The survey of the paper store: its sample, its walks, and an examination for each stop."""

from collections.abc import Sequence
from datetime import datetime, timedelta

import numpy as np

from survey.access.models import Person
from survey.catalogue.models import Location, Object
from survey.collection.models import CollectionSurvey, Stop, SurveyPlace
from survey.collection.queries import Plan
from survey.collection.services import draw_survey
from survey.demo.museum import surveyed as told
from survey.demo.museum.keys import key
from survey.demo.museum.places import PAPER_STORE
from survey.demo.museum.rounds import HEAD
from survey.demo.museum.works import Work
from survey.demo.rows.saved import saved
from survey.demo.sheet.noise import stream
from survey.examination.models import Examination, Observation, Recommendation, Visit
from survey.vocabulary.models import Term

# Beyond the numbers of the rounds, so that no key is made twice.
FIRST_NUMBER = 2000
SEED = 1931


def survey_of_the_store(
    collection: Sequence[Work],
    objects: Sequence[Object],
    locations: dict[str, Location],
    people: dict[str, Person],
    now: datetime,
) -> CollectionSurvey:
    """Drawn, handed out, walked and signed. The rounds came later, so what they say stands."""
    began = (now - timedelta(days=told.DAYS_AGO)).replace(hour=9, minute=15, second=0)
    began -= timedelta(days=max(0, began.weekday() - 3))
    survey = _drawn(locations[PAPER_STORE], people[HEAD], began - timedelta(days=6))
    places = list(survey.places.select_related("object__location__parent"))
    visits, stops, examinations = [], [], []
    observations: list[Observation] = []
    work: list[Recommendation] = []
    works = {item.pk: one for item, one in zip(objects, collection, strict=True)}
    terms = Term.objects.in_bulk()
    done = 0
    for part, (who, after, number) in enumerate(told.WALKS, 1):
        visit = _visit(survey, part, people[who], began + timedelta(days=after))
        visits.append(visit)
        for order, place in enumerate(places[done : done + number], 1):
            done += 1
            stop = Stop(
                id=key("stop", done),
                visit=visit,
                object=place.object,
                order=order,
                missing=told.MISSING.get(done, ""),
            )
            stops.append(stop)
            place.stop = stop
            if stop.missing:
                continue
            found = _Found(place.object, works[place.object_id], visit, done, order, terms)
            examinations.append(found.examination)
            observations += found.observations
            work += found.work
    saved("visit", Visit, visits, None)
    saved("stop", Stop, stops, None)
    saved("examination", Examination, examinations, None)
    saved("observation", Observation, observations, None)
    saved("recommendation", Recommendation, work, None)
    SurveyPlace.objects.bulk_update(places, ["stop"], batch_size=500)
    return survey


def _drawn(branch: Location, head: Person, at: datetime) -> CollectionSurvey:
    plan = Plan(
        branch=branch,
        divided_by=CollectionSurvey.DividedBy.UNIT,
        margin_points=None,
        number=told.NUMBER,
        minutes_an_object=told.MINUTES_AN_OBJECT,
        objects_a_box=told.OBJECTS_A_BOX,
    )
    survey = draw_survey(plan, name=told.NAME, person=head, seed=SEED)
    survey.designed_at = at
    survey.save(update_fields=["designed_at"])
    return survey


def _visit(survey: CollectionSurvey, part: int, person: Person, at: datetime) -> Visit:
    return Visit(
        id=key("visit", FIRST_NUMBER + part),
        purpose=Visit.Purpose.STORAGE_ROUND,
        name=f"{survey.name}, part {part}",
        location=survey.branch,
        person=person,
        started_at=at,
        ended_at=at + timedelta(hours=8),
        note=told.WORDS,
    )


class _Found:
    """What was found at one stop, by chance but the same each time."""

    def __init__(
        self,
        item: Object,
        work: Work,
        visit: Visit,
        number: int,
        order: int,
        terms: dict[str, Term],
    ) -> None:
        self._random = stream(SEED, "survey", str(number))
        unit = item.location.parent.name if item.location and item.location.parent else ""
        seen = self._troubles(unit)
        features = [told.FEATURES[work.medium]] if work.medium in told.FEATURES else []
        if work.support.startswith("Laid") and self._random.random() < 0.6:
            features.append(told.LAID)
        started = visit.started_at + timedelta(minutes=told.MINUTES_AN_OBJECT * (order - 1))
        self.examination = Examination(
            id=key("examination", FIRST_NUMBER + number),
            visit=visit,
            object=item,
            examiner=visit.person,
            started_at=started,
            location=item.location,
            location_confirmed=True,
            mount=item.mounts,
            verso_seen="part",
            nothing_seen=not seen and not features,
            grade=_grade(seen),
            signed_at=started + timedelta(minutes=8),
            signed_name=visit.person.name,
        )
        self.observations = [
            Observation(
                id=key(f"observation {FIRST_NUMBER + number}", place),
                examination=self.examination,
                term=terms[term],
                nature="damage" if severity else "feature",
                severity=("", "slight", "moderate", "severe")[severity],
                lights=["normal"],
            )
            for place, (term, severity) in enumerate([*seen.items(), *((f, 0) for f in features)])
        ]
        self.work = [
            Recommendation(
                id=key(f"recommendation {FIRST_NUMBER + number}", place),
                examination=self.examination,
                kind_of_work=kind,
                hours=round(4 * float(self._random.uniform(*hours))) / 4,
                note=why,
            )
            for place, (kind, hours, why) in enumerate(self._wanted(seen, unit))
        ]

    def _troubles(self, unit: str) -> dict[str, int]:
        """Each term that was seen, with 1 slight, 2 moderate, 3 severe."""
        seen = {}
        for trouble in told.TROUBLES:
            chance = trouble.chance * (trouble.times if unit in trouble.places else 1)
            if self._random.random() < chance:
                seen[trouble.term] = int(self._random.choice([1, 2, 3], p=(0.58, 0.34, 0.08)))
        return seen

    def _wanted(
        self, seen: dict[str, int], unit: str
    ) -> list[tuple[str, tuple[float, float], str]]:
        wanted = [
            told.WORK[term] for term, severity in seen.items() if severity > 1 and term in told.WORK
        ]
        times = 2 if unit in told.WORN_HOUSING_PLACES else 1
        if self._random.random() < told.WORN_HOUSING_CHANCE * times:
            wanted.append(told.WORN_HOUSING)
        # One entry in a queue for each kind of work.
        return list({kind: (kind, hours, why) for kind, hours, why in wanted}.values())


def _grade(seen: dict[str, int]) -> str:
    worst, several = max(seen.values(), default=0), np.sum([one > 1 for one in seen.values()])
    if worst == 3 or several > 2:
        return "poor"
    return "fair" if worst == 2 or len(seen) > 2 else "good"
