"""What a report says, in words and numbers, for a reader who knows nothing of Fieldleaf."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from survey.access.models import Person
from survey.catalogue.queries import location_paths
from survey.examination.models import Examination, Measurement, Observation, Recommendation
from survey.reading.models import Reading
from survey.reading.placement import size_of
from survey.reading.queries import latest_readings, lies_for, lies_of, outdated
from survey.reports import paper_facts
from survey.reports.dossier import Amended, Dossier, Marked, Noted, dossier_of
from survey.reports.figures import Figure, figures_of
from survey.reports.job import Say
from survey.reports.words import (
    day_in_words,
    duration_in_words,
    entry_name,
    light_name,
    moment_in_words,
    size_in_words,
    standing_at,
)
from survey.triage.gather import alarms_of
from survey.triage.rule import Alarm
from survey.vocabulary import queries as vocabulary

Facts = list[tuple[str, str]]

AMENDED = (
    "Since the signature something was amended: see Amendments. Each value stands as it was "
    "signed, and the amended one beside it."
)
# What is not told in a figure or sentence: how lights lie on each other, and a clearer picture.
NOT_TOLD = {Reading.Kind.ALIGN, Reading.Kind.WATERMARK}


@dataclass(frozen=True)
class Caution:
    """A hazard that was noted, and what to do about it."""

    name: str
    seen: tuple[str, ...]
    sentence: str
    action: str


@dataclass(frozen=True)
class Line:
    """One observation. ``facts``: ``Damage; slight; along an edge; recto.``"""

    number: int
    name: str
    facts: str
    shown_by: str
    definition: str
    hazards: tuple[str, ...]
    note: str
    drawn_on: str
    amended: Sequence[Amended]


@dataclass(frozen=True)
class Work:
    """A recommendation."""

    name: str
    urgency: str
    hours: str
    note: str
    is_done: bool


@dataclass(frozen=True)
class Told:
    """What a reading of the lights says. ``beside``: whose correction it is, or that it is old."""

    name: str
    sentence: str
    facts: Facts
    beside: str


@dataclass(frozen=True)
class Side:
    """The photographs of one side: the first across the page, the others in pairs."""

    name: str
    first: Figure
    pairs: tuple[tuple[Figure, ...], ...]


@dataclass(frozen=True)
class Content:
    """All of a report. ``lacks``: a sentence when not all photographs could be shown."""

    number: str
    title: str
    examined_on: str
    is_signed: bool
    object: Facts
    examined: Facts
    made: Facts
    cautions: list[Caution]
    precautions: list[dict[str, Any]]
    sides: list[Side]
    figures: list[Figure]
    nothing_seen: bool
    observations: list[Line]
    measurements: list[tuple[str, str, str, str]]
    watermarks: list[Marked]
    told: list[Told]
    work: list[Work]
    notes: str
    amended: list[Amended]
    lacks: str
    signature: str

    @property
    def has_behind(self) -> bool:
        return any(figure.has_behind for figure in self.figures)

    @property
    def has_scale(self) -> bool:
        return any(figure.scale for figure in self.figures)


def content_of(
    examination: Examination, maker: Person, tells: str, made_with: str, say: Say
) -> Content:
    """Of an examination; previews of its photographs are made where none is kept.

    maker, tells, made_with  who asked for the report, the state of the record in words, and the
                             name and version of what makes it
    """
    dossier = dossier_of(examination)
    full = dossier.examination
    say(0.05, "Opening the photographs")
    figures = figures_of(dossier.plates, dossier.observations, lies_of(full), size_of(full))
    drawn = drawn_on(figures)
    alarms = alarms_of(full)
    numbers = {one.observation.pk: one.number for one in dossier.observations}
    return Content(
        number=full.object.accession_number,
        title=full.object.title,
        examined_on=day_in_words(full.started_at),
        is_signed=full.is_signed,
        object=object_facts(full),
        examined=_examined(full),
        made=made_facts(
            maker, tells, made_with, lacks_of(figures), AMENDED if dossier.amended else ""
        ),
        cautions=cautions_of(alarms),
        precautions=precautions_of(alarms),
        sides=sides_of(figures),
        figures=figures,
        nothing_seen=full.nothing_seen,
        observations=lines_of(dossier.observations, drawn),
        measurements=[measurement_in_words(one, numbers) for one in dossier.measurements],
        watermarks=dossier.watermarks,
        told=_told(full),
        work=_work(dossier, alarms),
        notes=full.notes,
        amended=dossier.amended,
        lacks=lacks_of(figures),
        signature=tells,
    )


def in_runs(numbers: Iterable[int]) -> str:
    """Rising numbers, three or more in a row in short: ``1–3, 5, 6``."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(
        f"{run[0]}–{run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs
    )


def given(facts: Iterable[tuple[str, str]]) -> Facts:
    """Those that say something."""
    return [(name, words) for name, words in facts if words]


def object_facts(examination: Examination) -> Facts:
    item = examination.object
    return given(
        [
            ("Number", item.accession_number),
            ("Title", item.title),
            ("Maker", item.maker),
            ("Date", item.date_text),
            ("Medium", item.media),
            ("Support", item.support),
            ("Sheet", _sheet(examination)),
            ("Mount", examination.mount or item.mounts),
            (
                "Place",
                standing_at(examination.location_id, examination.place, location_paths())
                + (", confirmed on the spot" if examination.location_confirmed else ""),
            ),
        ]
    )


def _sheet(examination: Examination) -> str:
    if examination.sheet_width_mm and examination.sheet_height_mm:
        size = size_in_words(examination.sheet_width_mm, examination.sheet_height_mm)
        return f"{size}, ±\u00a0{examination.sheet_uncertainty_mm:g}\u00a0mm"
    item = examination.object
    if item.width_mm and item.height_mm:
        size = size_in_words(item.width_mm, item.height_mm)
        return f"{size} by the catalogue, which gives no uncertainty; not measured this time"
    return "Not measured"


def _examined(examination: Examination) -> Facts:
    visit = examination.visit
    return [
        ("Visit", f"{visit.name} ({visit.get_purpose_display().lower()})"),
        *seen_facts(examination),
    ]


def seen_facts(examination: Examination, signed: Facts | None = None) -> Facts:
    """Who looked and when, who signed, and what was seen as a whole.

    signed  what is said of the signatures, where not one person signed the examination
    """
    own = (
        f"{examination.signed_name}, {moment_in_words(examination.signed_at)}"
        if examination.is_signed
        else "Not yet signed: this is a draft"
    )
    grade = entry_name(vocabulary.grades(), examination.grade) if examination.grade else ""
    return given(
        [
            ("Examiner", examination.examiner.name),
            ("Examined", moment_in_words(examination.started_at)),
            *([("Signed", own)] if signed is None else signed),
            ("Condition", grade),
            ("Verso", examination.get_verso_seen_display()),
            (
                "Ultraviolet lamp",
                f"On the sheet for {duration_in_words(examination.lamp_s)}"
                if examination.lamp_s
                else "",
            ),
        ]
    )


def made_facts(maker: Person, tells: str, made_with: str, lacks: str, amended: str = "") -> Facts:
    return given(
        [
            ("Report made", f"{moment_in_words(timezone.now())}, asked for by {maker.name}"),
            ("It tells", tells),
            ("Made with", made_with),
            ("Amended", amended),
            ("Lacks", lacks),
        ]
    )


def cautions_of(alarms: Iterable[Alarm]) -> list[Caution]:
    hazards = {entry["code"]: entry for entry in vocabulary.hazards()}
    seen: dict[str, list[str]] = {}
    for alarm in alarms:
        seen.setdefault(alarm.hazard, []).append(alarm.sentence)
    return [
        Caution(
            hazards[code]["name"],
            tuple(sentences),
            hazards[code]["sentence"],
            hazards[code]["action"],
        )
        for code, sentences in seen.items()
        if code in hazards
    ]


def precautions_of(alarms: Iterable[Alarm]) -> list[dict[str, Any]]:
    """What to read before going near, of the vocabulary: each once."""
    noted = {alarm.hazard for alarm in alarms}
    wanted = {entry["caution"] for entry in vocabulary.hazards() if entry["code"] in noted}
    return [entry for entry in vocabulary.cautions() if entry["code"] in wanted]


def drawn_on(figures: Iterable[Figure]) -> dict[int, list[int]]:
    """The numbers of the photographs that each observation is drawn on."""
    drawn: dict[int, list[int]] = {}
    for figure in figures:
        for shape in figure.shapes:
            drawn.setdefault(shape.number, []).append(figure.number)
    return drawn


def measurement_in_words(one: Measurement, numbers: Mapping[Any, int]) -> tuple[str, str, str, str]:
    unit = one.get_unit_display()
    of = "The sheet"
    if one.observation:
        of = f"{numbers.get(one.observation.pk, '')} {one.observation.term.name}".strip()
    return one.what, f"{one.value:.10g} {unit}", f"± {one.uncertainty:.10g} {unit}", of


def lines_of(
    observations: Iterable[Noted],
    drawn: Mapping[int, list[int]],
    defined: set[str] | None = None,
) -> list[Line]:
    """Each with its term's definition, where the term comes for the first time.

    defined  codes of the terms that the document defined before; grows
    """
    lines: list[Line] = []
    defined = set() if defined is None else defined
    for noted in observations:
        code = noted.observation.term.code
        lines.append(
            _line(noted, drawn, "" if code in defined else noted.observation.term.definition)
        )
        defined.add(code)
    return lines


def _line(noted: Noted, drawn: Mapping[int, list[int]], definition: str) -> Line:
    seen = noted.observation
    on = drawn.get(noted.number, [])
    return Line(
        noted.number,
        seen.term.name,
        facts_of(seen),
        ", ".join(light_name(code) for code in seen.lights).lower(),
        definition,
        () if is_feature(seen) else tuple(_hazard(code) for code in seen.term.hazards),
        seen.note,
        f"photograph{'s' if len(on) > 1 else ''} {in_runs(on)}" if on else "",
        noted.amended,
    )


def is_feature(seen: Observation) -> bool:
    return seen.nature == Observation.Nature.FEATURE


def facts_of(seen: Observation) -> str:
    """``Damage; slight; along an edge; recto.``; what nobody said is told as not said."""
    severity = seen.get_severity_display().lower() if seen.severity else "severity not said"
    facts = [
        seen.get_nature_display(),
        "" if is_feature(seen) else severity,
        seen.get_extent_display().lower() if seen.extent else "extent not said",
        seen.get_side_display().lower(),
    ]
    return "; ".join(filter(None, facts)) + "."


def sides_of(figures: list[Figure]) -> list[Side]:
    sides = []
    for side in dict.fromkeys(one.plate.photograph.side for one in figures):
        first, *others = [one for one in figures if one.plate.photograph.side == side]
        pairs = tuple(tuple(others[at : at + 2]) for at in range(0, len(others), 2))
        sides.append(Side(first.plate.photograph.get_side_display(), first, pairs))
    return sides


def _told(examination: Examination) -> list[Told]:
    found = []
    order = {kind: place for place, kind in enumerate(Reading.Kind.values)}
    readings = latest_readings(examination)
    now = lies_for(examination, readings.values(), together=True)
    for side, kind in sorted(readings, key=lambda key: (order[key[1]], key[0])):
        reading = readings[side, kind]
        stands = reading.stands
        if kind in NOT_TOLD or reading.state != Reading.State.DONE or stands is None:
            continue
        correction = reading.correction
        facts = [
            (one.name, f"{one.value} {one.rest}".strip())
            for one in (paper_facts.figures(stands, None) if kind == Reading.Kind.PAPER else [])
        ]
        beside = []
        if correction:
            beside.append(
                f"Corrected by {correction.person.name}, {moment_in_words(correction.at)}: the "
                "figures are as corrected."
            )
        if outdated(reading, now):
            beside.append("A photograph was placed anew since; it was not read again.")
        sentence = "" if correction and facts else reading.sentence
        name = f"{reading.get_kind_display()}, {reading.get_side_display().lower()}"
        found.append(Told(name, sentence, facts, " ".join(beside)))
    return found


def _work(dossier: Dossier, alarms: Sequence[Alarm]) -> list[Work]:
    return [
        Work(
            entry_name(vocabulary.kinds_of_work(), one.recommendation.kind_of_work),
            _urgency(one.recommendation, alarms),
            f"{one.recommendation.hours:g} h" if one.recommendation.hours is not None else "",
            one.recommendation.note,
            one.is_done,
        )
        for one in dossier.work
    ]


def _urgency(recommendation: Recommendation, alarms: Sequence[Alarm]) -> str:
    """By the hazards raised with it, else by those noted on the sheet: then no work on it waits."""
    noted = recommendation.hazards or dict.fromkeys(alarm.hazard for alarm in alarms)
    named = [_hazard(code).lower() for code in noted]
    return f"Cannot wait: {', '.join(named)}" if named else "No hazard noted"


def _hazard(code: str) -> str:
    return entry_name(vocabulary.hazards(), code)


def lacks_of(figures: list[Figure]) -> str:
    missing = sum(1 for one in figures if one.trouble)
    if not missing:
        return ""
    return (
        f"{missing} of {len(figures)} photographs could not be shown; the report says which, and "
        "why."
    )
