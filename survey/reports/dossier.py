"""All that hangs on one examination, numbered, and with its amendments in words."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import count
from uuid import UUID

from survey.examination.amended import added_by
from survey.examination.models import (
    Amendment,
    Examination,
    Measurement,
    Observation,
    Recommendation,
    Watermark,
)
from survey.examination.queries import examinations_in_full, terms_added
from survey.reports.pictures import RING_SMALL, Plate, plates_of
from survey.reports.words import field_name, value_in_words
from survey.triage.gather import is_done
from survey.vocabulary.models import Term


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
class Marked:
    """A watermark with its facts in words, by their names, and what was amended of it."""

    watermark: Watermark
    name: str
    facts: list[tuple[str, str]]
    amended: list[Amended]


@dataclass(frozen=True)
class Dossier:
    examination: Examination
    plates: list[Plate]
    observations: list[Noted]
    measurements: list[Measurement]
    watermarks: list[Marked]
    work: list[Work]
    amended: list[Amended]


def dossier_of(
    examination: Examination,
    ring: float = RING_SMALL,
    numbers: Mapping[UUID, int] | None = None,
    after: int = 0,
) -> Dossier:
    """Of an examination, in a fixed number of queries.

    ring     see plates_of
    numbers  those that some observations have already, by their keys
    after    the number that the others follow
    """
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
    watermarks = list(full.watermarks.all())
    names = {f"observation:{one.pk}": one.term.name for one in observations} | {
        f"watermark:{one.pk}": _watermark_name(one) for one in watermarks
    }
    amended = _all_amended(full.amendments.all(), names)
    given = numbers or {}
    free = count(after + 1)
    noted = sorted(
        (
            Noted(given.get(one.pk) or next(free), one, _about(f"observation:{one.pk}", amended))
            for one in observations
        ),
        key=lambda one: one.number,
    )
    plates = plates_of([full.pk], [(one.number, one.observation) for one in noted], ring)
    return Dossier(
        examination=full,
        plates=plates.get(full.pk, []),
        observations=noted,
        measurements=list(full.measurements.all()),
        watermarks=[
            Marked(
                one,
                names[f"watermark:{one.pk}"],
                _watermark_facts(one),
                _about(f"watermark:{one.pk}", amended),
            )
            for one in watermarks
        ],
        work=[Work(one, is_done(one)) for one in full.recommendations.all()],
        amended=amended,
    )


def _about(subject: str, amended: list[Amended]) -> list[Amended]:
    return [said for said in amended if said.amendment.subject == subject]


def amended_of(examination: Examination) -> list[Amended]:
    """The amendments of an examination, oldest first, without those of its observations."""
    rows = examination.amendments.filter(deleted_at=None)
    others = rows.exclude(subject__startswith="observation:")
    return _all_amended(others, {})


def _watermark_name(watermark: Watermark) -> str:
    """``Watermark: Crown over a shield``."""
    about = watermark.motif or watermark.letters
    return f"{watermark.get_kind_display()}{about and f': {about}'}"


def _watermark_facts(watermark: Watermark) -> list[tuple[str, str]]:
    """What was said of it, in the order of the form; measures with their uncertainty."""
    uncertainty = f" ± {watermark.uncertainty_mm:g} mm"
    measures = {
        "Width, across the chain lines": watermark.width_mm,
        "Height, along them": watermark.height_mm,
        "To the chain line at its left": watermark.to_left_chain_mm,
        "To the chain line at its right": watermark.to_right_chain_mm,
        "Between these two chain lines": watermark.chain_interval_mm,
    }
    years = (watermark.repertory_from_year, watermark.repertory_to_year)
    seen_from = watermark.seen_from and watermark.get_seen_from_display()
    found = [
        watermark.repertory,
        watermark.repertory_number,
        watermark.repertory_place,
        "–".join(str(year) for year in years if year is not None),
    ]
    facts = [
        ("Letters", watermark.letters),
        (
            "Seen and measured from",
            ", ".join(filter(None, [watermark.get_side_display(), seen_from.lower()])),
        ),
        *((name, "" if mm is None else f"{mm:g}{uncertainty}") for name, mm in measures.items()),
        (
            "Chain lines that run through it",
            "" if watermark.chains_within is None else str(watermark.chains_within),
        ),
        ("Repertory", ", ".join(filter(None, found))),
        ("Match", watermark.match and watermark.get_match_display()),
        ("Note", watermark.note),
    ]
    return [(name, words) for name, words in facts if words]


def _all_amended(amendments: Iterable[Amendment], names: dict[str, str]) -> list[Amended]:
    rows = list(amendments)
    terms = terms_added(rows)
    return [_amended(one, names, terms) for one in rows]


def _amended(amendment: Amendment, names: dict[str, str], terms: Mapping[str, Term]) -> Amended:
    added = added_by(amendment)
    if added is not None:
        code = str(added.get("term"))
        name = terms[code].name if code in terms else code
        return Amended(amendment, f"observation added, {name}", "", "")
    entity = amendment.subject.partition(":")[0]
    about = names.get(amendment.subject, entity)
    field = amendment.field
    if not field:
        return Amended(amendment, about.capitalize(), "", "")
    return Amended(
        amendment,
        what=f"{about.capitalize()}: {field_name(field).lower()}",
        before=value_in_words(entity, field, amendment.before),
        after=value_in_words(entity, field, amendment.after),
    )
