"""Examinations of some years ago, so that a sheet can be seen as it was and as it is."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from survey.access.models import Person
from survey.catalogue.models import Object
from survey.demo.museum.before import Before
from survey.demo.museum.keys import key
from survey.demo.rows.examinations import (
    Examined,
    measurements_of,
    observations_of,
    photographs_of,
)
from survey.demo.rows.saved import saved
from survey.demo.sheet.noise import stream
from survey.examination.models import (
    Examination,
    Measurement,
    Observation,
    Photograph,
    Visit,
)
from survey.vocabulary.models import Term

# Beyond the numbers of the recent examinations, so that no key is made twice.
FIRST_NUMBER = 1000


def write_before(
    examined: Sequence[tuple[Before, Examined]],
    objects: Sequence[Object],
    people: dict[str, Person],
    now: datetime,
) -> None:
    """The visits, and one signed examination on each with its photographs and observations."""
    terms = Term.objects.in_bulk()
    visits, examinations = [], []
    photographs: list[Photograph] = []
    observations: list[Observation] = []
    measurements: list[Measurement] = []
    for number, (before, one) in enumerate(examined, FIRST_NUMBER):
        day = (now - timedelta(days=365 * before.years_ago)).replace(hour=10, minute=0)
        item, person = objects[one.work.number], people[before.person]
        visit = Visit(
            id=key("visit", number),
            purpose="bench",
            name=before.visit,
            location=item.location,
            place=item.off_site_place,
            person=person,
            started_at=day,
            ended_at=day + timedelta(hours=3),
        )
        ruler = stream(one.recipe.seed, "ruler", "before")
        examination = Examination(
            id=key("examination", number),
            visit=visit,
            object=item,
            examiner=person,
            started_at=day,
            location=item.location,
            place=item.off_site_place,
            location_confirmed=True,
            sheet_width_mm=round(2 * (item.width_mm or 0) + ruler.normal(0, 0.7)) / 2,
            sheet_height_mm=round(2 * (item.height_mm or 0) + ruler.normal(0, 0.7)) / 2,
            sheet_uncertainty_mm=0.5,
            mount=item.mounts,
            verso_seen="yes",
            nothing_seen=not one.sightings,
            grade=before.grade,
            lamp_s=int(ruler.integers(40, 150)) if "ultraviolet" in before.lights else 0,
            signed_at=day + timedelta(minutes=31),
            signed_name=person.name,
        )
        taken = photographs_of(number, one, examination)
        visits.append(visit)
        examinations.append(examination)
        photographs += taken
        seen = observations_of(number, one, examination, taken, terms)
        observations += seen
        measurements += measurements_of(number, one, examination, seen)
    saved("visit", Visit, visits, None)
    saved("examination", Examination, examinations, None)
    saved("photograph", Photograph, photographs, None)
    saved("observation", Observation, observations, None)
    saved("measurement", Measurement, measurements, None)
