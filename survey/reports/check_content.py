"""What the report of a check on a loan says, for a lender who knows nothing of Fieldleaf."""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any
from uuid import UUID

from survey.access.models import Person
from survey.examination.models import Examination, Observation, Photograph, Visit
from survey.loans.conditions import Held, agreed_on, held_against, outside, packed_before
from survey.loans.hands import half_signed
from survey.loans.models import Loan, LoanCheck, LoanedObject, PointCheck
from survey.loans.points import known_points
from survey.loans.signed_files import ATTACHED
from survey.loans.stated import differences
from survey.loans.statements import sha256_of
from survey.reading.placement import Lie, size_of
from survey.reading.queries import lies_of
from survey.reports.content import (
    Caution,
    Facts,
    Line,
    Say,
    Side,
    cautions_of,
    drawn_on,
    given,
    lacks_of,
    lines_of,
    made_facts,
    measurement_in_words,
    object_facts,
    precautions_of,
    seen_facts,
    sides_of,
)
from survey.reports.details import detail_of
from survey.reports.dossier import Amended, Dossier, Noted, amended_of, dossier_of
from survey.reports.figures import Figure, figures_of, shape_at
from survey.reports.places import placed_on_sheet, places_of
from survey.reports.signed import COMMAND, Signed, signatures_of
from survey.reports.words import calendar_day, day_in_words, moment_in_words
from survey.triage.gather import alarms_of
from survey.triage.rule import counted
from survey.vocabulary.phrases import lower_first
from survey.vocabulary.queries import lights

NOT_ANSWERED = "Not answered yet"
NO_DETAIL = "No photograph shows where this lies."
NOT_PLACED = (
    "This place is not found on the photographs of this check, since they are not placed on the "
    "sheet."
)


@dataclass(frozen=True)
class Point:
    """One thing that was known before, and how it was found.

    before  as the earlier state tells it; ``told`` is which state that is, in words
    now     as it was found, where it was seen
    reason  what changed, or why it could not be seen or was left open
    details a part of a photograph then and now, or a sentence why there is none
    """

    number: int
    name: str
    answer: str
    reason: str
    told: str
    before: Line
    now: Line | None
    details: tuple[tuple[str, Figure | None, str], ...]


@dataclass(frozen=True)
class Earlier:
    """Photographs of an earlier state that points were known from."""

    name: str
    figures: list[Figure]

    @property
    def pairs(self) -> list[list[Figure]]:
        return [self.figures[at : at + 2] for at in range(0, len(self.figures), 2)]


@dataclass(frozen=True)
class CheckContent:
    """All of the report of one check.

    state      ``Signed 3 May 2026``, or by whom only, or that it is a draft
    result     sentences: how many points were found how, and what lies outside what was agreed
    travels    how the object travels, by the loan's list
    agreed     what the loan says of conditions
    altered    sentences where the record no longer says what was signed; there should be none
    lights     codes of those that photographs were taken under, or that something is seen best in
    file_name  of what was signed, as the document carries it
    """

    number: str
    title: str
    stage: str
    checked_on: str
    is_signed: bool
    state: str
    examiner: str
    result: list[str]
    object: Facts
    check: Facts
    loan: Facts
    travels: Facts
    agreed: Facts
    made: Facts
    cautions: list[Caution]
    precautions: list[dict[str, Any]]
    held: list[Held]
    earlier_told: str
    since: list[Amended]
    points: list[Point]
    findings: list[Line]
    nothing_seen: bool
    sides: list[Side]
    figures: list[Figure]
    earlier: list[Earlier]
    measurements: list[tuple[str, str, str, str]]
    notes: list[str]
    signatures: list[Signed]
    sha256: str
    altered: list[str]
    later: Sequence[Amended]
    lacks: str
    tells: str
    lights: frozenset[str]
    file_name: str = ATTACHED

    @property
    def has_behind(self) -> bool:
        return any(figure.has_behind for figure in self.figures)

    @property
    def has_scale(self) -> bool:
        return any(figure.scale for figure in self.figures)

    @property
    def words(self) -> Facts:
        return words_used(self.lights)

    @property
    def command(self) -> str:
        """What anybody with Python can type to work the fingerprint out again."""
        return COMMAND.replace(ATTACHED, self.file_name)

    @property
    def drawn(self) -> list[Figure]:
        """Every picture of the document."""
        parts = [part for point in self.points for _, part, _ in point.details if part]
        return [*self.figures, *(f for one in self.earlier for f in one.figures), *parts]


@dataclass(frozen=True)
class State:
    """One examination with its photographs, ready to be compared. ``figures``: where they are
    printed."""

    dossier: Dossier
    lies: Mapping[UUID, Lie]
    figures: list[Figure] = field(default_factory=list)

    @property
    def noted(self) -> dict[UUID, Noted]:
        return {one.observation.pk: one for one in self.dossier.observations}

    @property
    def told(self) -> str:
        examination = self.dossier.examination
        return f"{day_in_words(examination.started_at)}, {examination.examiner.name}"


def check_content_of(
    check: LoanCheck, maker: Person, tells: str, made_with: str, say: Say, first_figure: int = 1
) -> CheckContent:
    """Of a check, signed or not; previews of its photographs are made where none is kept.

    maker, tells, made_with  see content_of
    first_figure             the number of its first photograph in the document
    """
    asked = asked_of(check)
    say(0.05, "Opening the photographs")
    now = _state(check.examination, asked.nows, first_figure, after=len(asked.known), is_now=True)
    full = now.dossier.examination
    states = _earlier(asked.known, asked.numbers, first_figure + len(now.figures))
    points = _points(asked, states, now)
    findings = [one for one in now.dossier.observations if one.observation.pk not in asked.nows]
    lines = lines_of(findings, drawn_on(now.figures))
    loaned = loaned_of(check)
    held = held_against(check, loaned, packed_before(check))
    alarms = alarms_of(full)
    earlier = [Earlier(one.told, _worth_showing(one)) for one in states.values()]
    shown = [*now.figures, *(figure for one in earlier for figure in one.figures)]
    return CheckContent(
        number=full.object.accession_number,
        title=full.object.title,
        stage=check.get_stage_display(),
        checked_on=day_in_words(full.started_at),
        is_signed=check.is_signed,
        state=state_of(check),
        examiner=full.examiner.name,
        result=[
            *lacking_of(check),
            *result_of(
                check, [one.answer for one in points], len(findings), full.nothing_seen, held
            ),
        ],
        object=object_facts(full),
        check=_check_facts(check, full),
        loan=loan_facts(check.loan),
        travels=_travel_facts(loaned),
        agreed=agreed_on(check.loan),
        made=made_facts(maker, tells, made_with, lacks_of(shown)),
        cautions=cautions_of(alarms),
        precautions=precautions_of(alarms),
        held=held,
        earlier_told=earlier_told_of(check, states.values()),
        since=added_since(check),
        points=points,
        findings=[_as_signed(line) for line in lines],
        nothing_seen=full.nothing_seen,
        sides=sides_of(now.figures),
        figures=now.figures,
        earlier=[one for one in earlier if one.figures],
        measurements=[
            measurement_in_words(one, {key: noted.number for key, noted in now.noted.items()})
            for one in now.dossier.measurements
        ],
        notes=[one for one in (check.note, full.notes) if one],
        signatures=signatures_of(check),
        sha256=sha256_of(check.statement) if check.is_signed else "",
        altered=list(differences(check)) if check.is_signed else [],
        later=now.dossier.amended,
        lacks=lacks_of(shown),
        tells=tells,
        lights=frozenset(
            [
                *(figure.plate.photograph.light for figure in shown),
                *(light for one in asked.known for light in one.lights),
                *(light for one in now.noted.values() for light in one.observation.lights),
            ]
        ),
    )


def words_used(codes: Collection[str]) -> Facts:
    """The words of a report that a stranger may not know, as the tablet's report explains them."""
    return [
        ("Recto, verso", "The front and the back of the sheet."),
        *((light["name"], light["purpose"]) for light in lights() if light["code"] in codes),
        (
            "Damage, feature",
            "Damage is what happened to the sheet. A feature belongs to its making and is no harm.",
        ),
    ]


@dataclass(frozen=True)
class Asked:
    """What a check had to go through, and what it says of it.

    known    the known points, in the order in which they are numbered
    numbers  of the points, from 1, by observation
    answers  by the observation they are about; of two for one, what was written last
    nows     numbers of the points, by the check's own observation that says how one is now
    """

    known: Sequence[Observation]
    numbers: Mapping[UUID, int]
    answers: Mapping[UUID, PointCheck]
    nows: Mapping[UUID, int]


def asked_of(check: LoanCheck) -> Asked:
    known = sorted(
        known_points(check), key=lambda one: (one.term.order, one.term.name, str(one.pk))
    )
    numbers = {one.pk: number for number, one in enumerate(known, start=1)}
    rows = check.points.filter(deleted_at=None).order_by("revision", "id")
    answers = {one.observation_id: one for one in rows}
    nows = {
        answer.now_id: numbers[key]
        for key, answer in answers.items()
        if answer.now_id and key in numbers
    }
    return Asked(known, numbers, answers, nows)


def loaned_of(check: LoanCheck) -> LoanedObject | None:
    """The object of a check as the loan lists it; None when it was taken off the list."""
    return LoanedObject.objects.filter(
        loan=check.loan_id, object=check.examination.object_id, deleted_at=None
    ).first()


def loan_facts(loan: Loan) -> Facts:
    """What a loan is."""
    return given(
        [
            ("Loan", f"{loan.reference}, {loan.title}"),
            ("Lender", loan.lender),
            ("Borrower", loan.borrower),
            ("Days", f"{calendar_day(loan.first_day)} to {calendar_day(loan.last_day)}"),
            *((f"Venue {n}" if len(loan.venues) > 1 else "Venue", _venue(one))
              for n, one in enumerate(loan.venues, start=1)),
            ("Couriers", ", ".join(loan.couriers)),
        ]
    )  # fmt: skip


def _travel_facts(loaned: LoanedObject | None) -> Facts:
    """How an object travels, by the loan's list."""
    if loaned is None:
        return []
    return given(
        [
            ("Listed crate", loaned.crate),
            ("Frame", loaned.frame),
            ("Glazing", loaned.glazing),
        ]
    )


def _venue(venue: Mapping[str, str]) -> str:
    days = [calendar_day(venue[name]) for name in ("first_day", "last_day")]
    return f"{venue['name']}, {' to '.join(days)}"


def _check_facts(check: LoanCheck, full: Examination) -> Facts:
    venue = check.venue or "Not said"
    signed = _signed_facts(check, full) if check.is_signed else None
    return given(
        [("Stage", check.get_stage_display()), ("Venue", venue), *seen_facts(full, signed)]
    )


def _signed_facts(check: LoanCheck, full: Examination) -> Facts:
    """Each signature with its own time; and the time of the examination, where it is another."""
    signatures = signatures_of(check)
    by = "; ".join(f"{one.name}, {one.role.lower()}, {one.at}" for one in signatures)
    closed = moment_in_words(full.signed_at) if full.signed_at else ""
    facts = [("Signed", by or "No signature has arrived yet")]
    if is_taken_over(check):
        facts.append(("Examination signed", f"{full.signed_name}, {closed}"))
    elif closed and closed not in [one.at for one in signatures]:
        facts.append(("Closed", f"{closed}; what was recorded stays as it is from then on"))
    return facts


def _state(
    examination: Examination,
    numbers: Mapping[UUID, int],
    first: int,
    *,
    after: int,
    is_now: bool = False,
) -> State:
    """One state with what counts of it.

    numbers  of the points; ``after`` is the last of all
    first    the number of its first photograph
    is_now   it is the check's own, whose new findings count too
    """
    dossier = dossier_of(examination, numbers=numbers, after=after)
    full = dossier.examination
    lies = lies_of(full)
    counts = [one for one in dossier.observations if is_now or one.observation.pk in numbers]
    figures = figures_of(dossier.plates, counts, lies, size_of(full), first=first, widest=is_now)
    return State(dossier, lies, figures)


def _earlier(
    known: Iterable[Observation], numbers: Mapping[UUID, int], first: int
) -> dict[UUID, State]:
    """The states that the points were known from, latest first; photographs numbered on."""
    of: dict[UUID, dict[UUID, int]] = defaultdict(dict)
    for one in known:
        of[one.examination_id][one.pk] = numbers[one.pk]
    states = {}
    for examination in Examination.objects.filter(pk__in=of).order_by("-started_at", "-id"):
        state = _state(examination, of[examination.pk], first, after=len(numbers))
        first += len(state.figures)
        states[examination.pk] = state
    return states


def _worth_showing(state: State) -> list[Figure]:
    """The first photograph of each side, and all that something is drawn on."""
    sides: set[str] = set()
    shown = []
    for figure in state.figures:
        side = figure.plate.photograph.side
        if figure.shapes or side not in sides:
            shown.append(figure)
        sides.add(side)
    return shown


def _points(asked: Asked, states: Mapping[UUID, State], now: State) -> list[Point]:
    befores: dict[int, Line] = {}
    defined: set[str] = set()
    for state in states.values():
        of_points = [one for key, one in state.noted.items() if key in asked.numbers]
        drawn = drawn_on(_worth_showing(state))
        befores |= {line.number: line for line in lines_of(of_points, drawn, defined)}
    nows = {
        line.number: _as_signed(line)
        for line in lines_of(now.dossier.observations, drawn_on(now.figures), defined)
    }
    return [
        _point(
            one,
            asked.numbers[one.pk],
            asked.answers.get(one.pk),
            states[one.examination_id],
            now,
            befores,
            nows,
        )
        for one in asked.known
    ]


def _point(
    known: Observation,
    number: int,
    answer: PointCheck | None,
    state: State,
    now: State,
    befores: Mapping[int, Line],
    nows: Mapping[int, Line],
) -> Point:
    is_seen = answer is not None and answer.now_id is not None
    light = next(iter(known.lights), "normal")
    taken = [one.plate.photograph for one in now.figures if not one.trouble]
    before = detail_of(state.figures, number, state.lies, light=light)
    shared = before.plate.photograph.light if before else light
    wanted = answer.photograph_id if answer else None
    after = detail_of(now.figures, number, now.lies, wanted=wanted, light=shared) or detail_of(
        _at_the_same_place(known, number, state, now), number, now.lies, light=shared
    )
    return Point(
        number=number,
        name=known.term.name,
        answer=answer_in_words(answer),
        reason=answer.reason if answer else "",
        told=state.told,
        before=befores[number],
        now=nows.get(number) if is_seen else None,
        details=(
            ("Earlier", before, "" if before else NO_DETAIL),
            (
                "Now" if is_seen else "The same place now",
                after,
                "" if after else why_not_shown(known, taken, placed_on_sheet(now.lies)),
            ),
        )
        if before or after
        else (),
    )


def _at_the_same_place(known: Observation, number: int, before: State, now: State) -> list[Figure]:
    """A check's photographs with nothing on them but where a point lay before."""
    sizes = {one.plate.photograph.pk: one.size for one in before.figures if not one.trouble}
    place = places_of(known, placed_on_sheet(before.lies), sizes)
    on_sheet = placed_on_sheet(now.lies)
    return [
        replace(figure, shapes=(shape_at(known, number, place, on_sheet[photograph.pk]),))
        for figure in now.figures
        for photograph in [figure.plate.photograph]
        if place and photograph.side == known.side and photograph.pk in on_sheet
    ]


def why_not_shown(
    known: Observation, photographs: Iterable[Photograph], on_sheet: Mapping[UUID, Lie]
) -> str:
    """Why none of a check's photographs is marked with a point, in a sentence.

    photographs  of the check, that can be shown
    on_sheet     those of which it is known where on the sheet they lie
    """
    of_side = [one for one in photographs if one.side == known.side]
    if not of_side:
        return f"No photograph of the {known.side} was taken at this check."
    if not any(one.pk in on_sheet for one in of_side):
        return NOT_PLACED
    return NO_DETAIL


def answer_in_words(answer: PointCheck | None) -> str:
    """``Same``, ``Left open``, ``Not answered yet``."""
    if answer is None or not (answer.answer or answer.reason):
        return NOT_ANSWERED
    return answer.get_answer_display()


def _as_signed(line: Line) -> Line:
    """Without what was amended later, which is told apart."""
    return Line(**{**line.__dict__, "amended": ()})


def result_of(
    check: LoanCheck,
    answers: Sequence[str],
    findings: int,
    nothing_seen: bool,
    held: Sequence[Held],
) -> list[str]:
    """What a check came to, in sentences; the answers to its points in words."""
    times = Counter(answers)
    order = [*(answer.label for answer in PointCheck.Answer), NOT_ANSWERED]
    said = []
    if answers:
        found = ", ".join(
            f"{times[name]} {name.lower()}" for name in sorted(times, key=order.index)
        )
        said.append(f"Of {counted(len(answers), 'point')} known before: {found}.")
    elif is_taken_over(check):
        said.append(f"It left in the state of {_day_of(check)}.")
    else:
        said.append("No earlier signed state was known: this check is the first.")
    if findings:
        said.append(f"{counted(findings, 'new finding' if answers else 'observation')}.")
    elif answers:
        said.append("Nothing new was noted.")
    elif nothing_seen:
        said.append("The examiner looked and saw no damage.")
    said += [f"{one.name}: {lower_first(one.judged)}." for one in outside(held)]
    return said


def lacking_of(check: LoanCheck) -> list[str]:
    """A sentence where one side has signed and the other has not."""
    half = half_signed(check) if check.is_signed else None
    return [half.sentence] if half else []


def state_of(check: LoanCheck) -> str:
    """For the head of every page."""
    examined = check.examination
    if not check.is_signed:
        return f"Draft, not signed. Checked {day_in_words(examined.started_at)}"
    first = check.signatures.filter(deleted_at=None).order_by("signed_at", "id").first()
    half = half_signed(check)
    if first is None:
        return f"Closed {day_in_words(examined.signed_at or examined.started_at)}, no signature yet"
    day = day_in_words(first.signed_at)
    return f"{half.by}, {day}" if half else f"Signed {day}"


def is_taken_over(check: LoanCheck) -> bool:
    """Whether a state that was signed by itself was taken for the one in which the object left."""
    return (
        check.earlier_id is None
        and check.examination.visit.purpose != Visit.Purpose.LOAN_CHECK
        and check.examination.is_signed
    )


def _day_of(check: LoanCheck) -> str:
    return day_in_words(check.examination.started_at)


def added_since(check: LoanCheck) -> list[Amended]:
    """What was added to the earlier state once it was signed; that of a point stands beside it."""
    return amended_of(check.earlier) if check.earlier else []


def earlier_told_of(check: LoanCheck, states: Iterable[State]) -> str:
    """Which states the points come from, in words."""
    if is_taken_over(check):
        return f"The state of {_day_of(check)} was taken as it stood, and compared with no other."
    if check.earlier is None:
        return "No earlier signed state was known, so there is nothing to compare with."
    last = check.earlier
    signed = f"signed by {last.signed_name}, {moment_in_words(last.signed_at)}"
    said = f"Compared with the state of {day_in_words(last.started_at)}, {signed}."
    others = [one.told for one in states if one.dossier.examination.pk != last.pk]
    if others:
        said += (
            f" What could not be seen then is compared with the state before: {'; '.join(others)}."
        )
    return said
