"""All that hangs on one examination, numbered, and with its amendments in words."""

from dataclasses import dataclass

from survey.desk.pictures import RING_SMALL, Plate, plates_of
from survey.desk.words import field_name, value_in_words
from survey.examination.models import (
    Amendment,
    Examination,
    Measurement,
    Observation,
    Recommendation,
)
from survey.examination.queries import examinations_in_full
from survey.triage.gather import is_done


@dataclass(frozen=True)
class Amended:
    """An amendment: what stood, what was signed since."""

    amendment: Amendment
    what: str
    before: str
    after: str


@dataclass(frozen=True)
class Noted:
    """An observation with its number on the page, and what was amended of it."""

    number: int
    observation: Observation
    amended: list[Amended]


@dataclass(frozen=True)
class Work:
    recommendation: Recommendation
    is_done: bool


@dataclass(frozen=True)
class Dossier:
    examination: Examination
    plates: list[Plate]
    observations: list[Noted]
    measurements: list[Measurement]
    work: list[Work]
    amended: list[Amended]


def dossier_of(examination: Examination, ring: float = RING_SMALL) -> Dossier:
    """Of an examination, in a fixed number of queries. ``ring``: see plates_of."""
    full = (
        examinations_in_full()
        .prefetch_related(
            "recommendations__readiness",
            "measurements__observation__term",
            "measurements__photograph",
        )
        .get(pk=examination.pk)
    )
    observations = sorted(
        full.observations.all(), key=lambda one: (one.term.order, one.term.name, one.pk)
    )
    amended = [_amended(one, observations) for one in full.amendments.all()]
    noted = [
        Noted(number, one, [said for said in amended if _is_about(said.amendment, one)])
        for number, one in enumerate(observations, start=1)
    ]
    plates = plates_of([full.pk], [(one.number, one.observation) for one in noted], ring)
    return Dossier(
        examination=full,
        plates=plates.get(full.pk, []),
        observations=noted,
        measurements=list(full.measurements.all()),
        work=[Work(one, is_done(one)) for one in full.recommendations.all()],
        amended=amended,
    )


def amended_of(examination: Examination) -> list[Amended]:
    """The amendments of an examination, oldest first, without those of its observations."""
    rows = examination.amendments.filter(deleted_at=None)
    others = rows.exclude(subject__startswith="observation:")
    return [_amended(one, []) for one in others]


def _is_about(amendment: Amendment, observation: Observation) -> bool:
    return amendment.subject == f"observation:{observation.pk}"


def _amended(amendment: Amendment, observations: list[Observation]) -> Amended:
    entity = amendment.subject.partition(":")[0]
    about = next((one.term.name for one in observations if _is_about(amendment, one)), entity)
    field = amendment.field
    if not field:
        return Amended(amendment, about.capitalize(), "", "")
    return Amended(
        amendment,
        what=f"{about.capitalize()}: {field_name(field).lower()}",
        before=value_in_words(entity, field, amendment.before),
        after=value_in_words(entity, field, amendment.after),
    )
