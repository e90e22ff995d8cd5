"""Visits, and the examinations made on them with all that hangs on one."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import numpy as np

from survey.access.models import Person
from survey.catalogue.models import Location, Object
from survey.demo.museum.keys import key
from survey.demo.museum.photographs import Picture
from survey.demo.museum.rounds import ROUNDS, Case, Round
from survey.demo.museum.sheets import Sighting, in_words, length_mm
from survey.demo.museum.works import Work
from survey.demo.rows.placings import placing_of
from survey.demo.rows.saved import saved
from survey.demo.rows.watermarks import watermarks_of
from survey.demo.sheet.camera import mapped
from survey.demo.sheet.geometry import area, centre
from survey.demo.sheet.noise import stream
from survey.demo.sheet.recipe import SheetRecipe
from survey.demo.sheet.truth import region_of
from survey.examination.models import (
    Amendment,
    Examination,
    Measurement,
    Observation,
    Photograph,
    Recommendation,
    Visit,
    Watermark,
)
from survey.vocabulary.models import Term

MINUTES_A_SHEET = 34


@dataclass(frozen=True)
class Examined:
    """One examination to be written: what was asked for, found, and photographed."""

    case: Case
    work: Work
    sightings: list[Sighting]
    recipe: SheetRecipe
    pictures: list[Picture]


def visits_of(
    people: dict[str, Person], locations: dict[str, Location], now: datetime
) -> list[Visit]:
    rows = []
    for number, outing in enumerate(ROUNDS):
        started = _morning(outing, now)
        rows.append(
            Visit(
                id=key("visit", number),
                purpose=outing.purpose,
                name=outing.name,
                location=locations.get(outing.location),
                place=outing.place,
                person=people[outing.person],
                started_at=started,
                ended_at=None if outing is ROUNDS[-1] else started + timedelta(hours=4),
                note=outing.note,
            )
        )
    return saved("visit", Visit, rows, None)


def _morning(outing: Round, now: datetime) -> datetime:
    """Half past nine on the working day that lies ``days_ago`` back, or just before it."""
    day = now - timedelta(days=outing.days_ago)
    day -= timedelta(days=max(0, day.weekday() - 4))
    return day.replace(hour=9, minute=30, second=0, microsecond=0)


@dataclass(frozen=True)
class Record:
    """What was written of one examination, for those rows that hang on it."""

    examination: Examination
    observations: list[Observation]
    recommendations: list[Recommendation]


def examinations_of(
    examined: Sequence[Examined],
    objects: Sequence[Object],
    visits: Sequence[Visit],
    people: dict[str, Person],
) -> list[Record]:
    terms = Term.objects.in_bulk()
    examinations, photographs, measurements = [], [], []
    records = []
    done_on: dict[int, int] = {}
    for number, one in enumerate(examined):
        before = done_on.get(one.case.round, 0)
        done_on[one.case.round] = before + 1
        examination = _examination(number, before, one, objects, visits, people)
        taken = photographs_of(number, one, examination)
        seen = observations_of(number, one, examination, taken, terms)
        wanted = [
            Recommendation(
                id=key(f"recommendation {number}", place),
                examination=examination,
                kind_of_work=work.kind,
                hours=work.hours,
                hazards=list(work.hazards),
                note=work.note,
            )
            for place, work in enumerate(one.case.work)
        ]
        examinations.append(examination)
        photographs += taken
        measurements += measurements_of(number, one, examination, seen)
        records.append(Record(examination, seen, wanted))
    saved("examination", Examination, examinations, None)
    saved("photograph", Photograph, photographs, None)
    saved("observation", Observation, [o for r in records for o in r.observations], None)
    saved("measurement", Measurement, measurements, None)
    saved("recommendation", Recommendation, [w for r in records for w in r.recommendations], None)
    sheets = [
        (one.recipe, record.examination) for one, record in zip(examined, records, strict=True)
    ]
    saved("watermark", Watermark, watermarks_of(sheets), None)
    saved("amendment", Amendment, _amendments(records), None)
    return records


def _examination(
    number: int,
    before: int,
    one: Examined,
    objects: Sequence[Object],
    visits: Sequence[Visit],
    people: dict[str, Person],
) -> Examination:
    item, visit = objects[one.work.number], visits[one.case.round]
    started = visit.started_at + timedelta(minutes=MINUTES_A_SHEET * before)
    signed_at = started + timedelta(minutes=MINUTES_A_SHEET - 3) if one.case.signed else None
    random = stream(one.recipe.seed, "ruler")
    return Examination(
        id=key("examination", number),
        visit=visit,
        object=item,
        examiner=visit.person,
        started_at=started,
        location=item.location,
        place=item.off_site_place,
        location_confirmed=True,
        # As read from a ruler, to the half millimetre.
        sheet_width_mm=round(2 * (item.width_mm or 0) + random.normal(0, 0.7)) / 2,
        sheet_height_mm=round(2 * (item.height_mm or 0) + random.normal(0, 0.7)) / 2,
        sheet_uncertainty_mm=0.5,
        mount=item.mounts,
        verso_seen=one.case.verso_seen,
        nothing_seen=not one.sightings and bool(one.case.grade),
        grade=one.case.grade,
        notes=one.case.note,
        lamp_s=int(random.integers(40, 150)) if "ultraviolet" in one.case.lights else 0,
        signed_at=signed_at,
        signed_name=visit.person.name if signed_at else "",
    )


def photographs_of(number: int, one: Examined, examination: Examination) -> list[Photograph]:
    random = stream(one.recipe.seed, "taps")
    return [
        Photograph(
            id=key(f"photograph {number}", place),
            examination=examination,
            light=picture.shot.light,
            azimuth_deg=picture.shot.azimuth_deg,
            side=picture.shot.side,
            sha256=hashlib.sha256(picture.content).hexdigest(),
            size_bytes=len(picture.content),
            content_type="image/jpeg",
            file_name=f"{one.work.accession_number}-{picture.shot.name}.jpg",
            width_px=picture.width_px,
            height_px=picture.height_px,
            taken_at=examination.started_at + timedelta(minutes=4 + 2 * place),
            homography=homography,
            placing=placing,
        )
        for place, picture in enumerate(one.pictures)
        for homography, placing in [placing_of(picture, examination, random)]
    ]


def observations_of(
    number: int,
    one: Examined,
    examination: Examination,
    taken: Sequence[Photograph],
    terms: dict[Any, Term],
) -> list[Observation]:
    size = (one.recipe.width_mm, one.recipe.height_mm)
    used = {photograph.light for photograph in taken}
    rows = []
    for place, sighting in enumerate(one.sightings):
        term = terms[sighting.term]
        row = Observation(
            id=key(f"observation {number}", place),
            examination=examination,
            term=term,
            nature=sighting.nature,
            severity=sighting.severity,
            lights=[light for light in term.lights if light in used],
        )
        if sighting.mark is not None:
            outline = region_of(sighting.mark, *size)
            row.side = sighting.mark.side
            row.extent = _extent(sighting, outline, size)
            row.note = in_words(sighting.mark, size)
            row.region = {"kind": "polygon", "points": [[x, y] for x, y in outline]}
            row.mark = _marked_on(taken, sighting, centre(outline))
        rows.append(row)
    return rows


def _extent(sighting: Sighting, outline: Any, size: tuple[float, float]) -> str:
    share = area(outline) / (size[0] * size[1])
    if sighting.nature == "feature":
        return ""
    if sighting.term == "mat-burn":
        return "area"
    if share > 0.6:
        return "overall"
    if sighting.term in ("foxing", "pinhole", "insect-hole", "active-mould", "insect-grazing"):
        return "several"
    if sighting.term in ("tear", "loss", "worn-edge"):
        return "edge"
    return "area" if share > 0.08 else "spot"


def _marked_on(
    taken: Sequence[Photograph], sighting: Sighting, place_mm: tuple[float, float]
) -> dict[str, Any] | None:
    """The place on the first photograph of its side, as shares of its width and height."""
    side = sighting.mark.side if sighting.mark else ""
    photograph = next((one for one in taken if one.side == side), None)
    if photograph is None or not photograph.width_px or not photograph.height_px:
        return None
    to_pixels = np.linalg.inv(np.array(photograph.homography).reshape(3, 3))
    x, y = mapped(to_pixels, *place_mm)
    return {
        "photograph": str(photograph.id),
        "x": round(x / photograph.width_px, 4),
        "y": round(y / photograph.height_px, 4),
    }


def measurements_of(
    number: int, one: Examined, examination: Examination, seen: Sequence[Observation]
) -> list[Measurement]:
    """What an examiner measures by tapping: lengths of tears, areas of losses, chain lines."""
    rows: list[Measurement] = []

    def measured(
        observation: Observation, what: str, value: float, spread: float, unit: str
    ) -> None:
        rows.append(
            Measurement(
                id=key(f"measurement {number}", len(rows)),
                examination=examination,
                observation=observation,
                what=what,
                value=round(value, 1),
                uncertainty=spread,
                unit=unit,
            )
        )

    for observation, sighting in zip(seen, one.sightings, strict=True):
        if sighting.mark is None:
            continue
        if sighting.term == "tear":
            measured(observation, "Length of tear", length_mm(sighting.mark), 0.7, "mm")
        elif sighting.term == "loss":
            measured(observation, "Area of loss", area(sighting.mark.points), 8.0, "mm2")
        elif sighting.term == "chain-lines":
            offsets = one.recipe.chain_offsets_mm()
            mean = (offsets[-1] - offsets[0]) / (len(offsets) - 1)
            measured(observation, "Mean chain-line interval", mean, 0.3, "mm")
    return rows


def _amendments(records: Sequence[Record]) -> list[Amendment]:
    """Second thoughts on two of the earliest signed examinations that noted damage."""
    rows: list[Amendment] = []
    for number, record in enumerate(records):
        examination = record.examination
        slight = [one for one in record.observations if one.severity == "slight"]
        if len(rows) == 2 or examination.signed_at is None or not slight:
            continue
        rows.append(
            Amendment(
                id=key("amendment", number),
                examination=examination,
                subject=f"observation:{slight[0].id}",
                field="severity",
                before="slight",
                after="moderate",
                reason="Looked at again under magnification on the bench: it reaches further.",
                signed_at=examination.signed_at + timedelta(days=3),
                signed_name=examination.signed_name,
            )
        )
    return rows
