"""Loans with their conditions, the checks on their way, and whoever signed."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from survey.access.models import Person
from survey.catalogue.models import Object
from survey.demo.museum.keys import key
from survey.demo.museum.loans import ARRANGED_BY, LENDER, LOANS, Lending, Stop
from survey.demo.museum.rounds import Case
from survey.demo.rows.examinations import Examined, Record, observations_of, photographs_of
from survey.demo.rows.saved import saved
from survey.demo.sheet.noise import stream
from survey.examination.models import Examination, Observation, Photograph, Visit
from survey.loans.models import Loan, LoanCheck, LoanedObject, PointCheck, Signature
from survey.loans.points import known_points
from survey.loans.stated import statement_of
from survey.loans.statements import sha256_of
from survey.sync.services import record_change
from survey.vocabulary.models import Term

# Beyond the numbers of the other examinations, so that no key is made twice.
FIRST_NUMBER = 3000
# How long after the check began the first hand signed, and each further one.
SIGNED_AFTER, BETWEEN_HANDS = timedelta(minutes=28), timedelta(minutes=2)


@dataclass
class Written:
    """What the loans find in the museum.

    records  the examinations of the recent rounds, by their case
    stops    what was photographed at each stop that has a state of its own
    """

    objects: Sequence[Object]
    records: Mapping[Case, tuple[Examined, Record]]
    stops: Mapping[int, Examined]
    people: Mapping[str, Person]
    now: datetime


def stops_of(cases: Iterable[Case]) -> list[Stop]:
    """The stops at which sheets of these cases were examined anew, in order."""
    known = list(cases)
    return [
        stop for lending in LOANS for stop in lending.stops if stop.is_own and stop.case in known
    ]


def write_loans(museum: Written) -> None:
    """All loans of which an object is in the museum."""
    number = FIRST_NUMBER
    for place, lending in enumerate(LOANS):
        travelling = [one for one in lending.objects if one.case in museum.records]
        if not travelling:
            continue
        by = museum.people[ARRANGED_BY]
        [loan] = saved("loan", Loan, [_loan(place, lending, museum.now)], by)
        items = {one.case: museum.objects[museum.records[one.case][0].work.number]
                 for one in travelling}  # fmt: skip
        rows = [
            LoanedObject(
                id=key(f"loaned {place}", order),
                loan=loan,
                object=items[one.case],
                crate=one.crate,
                frame=one.frame,
                glazing=one.glazing,
                order=order,
            )
            for order, one in enumerate(travelling, start=1)
        ]
        saved("loaned_object", LoanedObject, rows, by)
        states: dict[Case, Examination] = {}
        stops = [stop for stop in lending.stops if stop.case in items]
        for stop in sorted(stops, key=lambda one: -one.days_ago):
            number += 1
            states[stop.case] = _check(number, stop, loan, states.get(stop.case), museum)
        if lending.last_day < 0:
            _back_home(lending, list(items.values()), museum)


def _loan(place: int, lending: Lending, now: datetime) -> Loan:
    def day(offset: int) -> Any:
        return (now + timedelta(days=offset)).date()

    return Loan(
        id=key("loan", place),
        reference=f"{lending.reference}.{day(lending.first_day).year}",
        title=lending.title,
        lender=LENDER,
        borrower=lending.borrower,
        first_day=day(lending.first_day),
        last_day=day(lending.last_day),
        venues=[
            {"name": name, "first_day": str(day(first)), "last_day": str(day(last))}
            for name, first, last in lending.venues
        ],
        couriers=list(lending.couriers),
        note=lending.note,
        **lending.conditions,
    )


def _check(
    number: int, stop: Stop, loan: Loan, earlier: Examination | None, museum: Written
) -> Examination:
    """One check, signed; the state it tells of."""
    person = museum.people[stop.person]
    state = (
        _examination(number, stop, museum)
        if stop.is_own
        else museum.records[stop.case][1].examination
    )
    check = LoanCheck(
        id=key("loan check", number),
        loan=loan,
        examination=state,
        earlier=earlier,
        stage=stop.stage,
        venue=stop.venue,
        **stop.packed,
    )
    saved("loan_check", LoanCheck, [check], person)
    saved("point_check", PointCheck, _points(number, stop, check), person)
    statement = statement_of(check)
    record_change("loan_check", check, {"statement": statement}, person)
    begun = state.started_at
    if stop.stage == "outgoing" and not stop.is_own:
        # A state that was seen before, taken for the one it leaves in.
        begun = (museum.now - timedelta(days=stop.days_ago)).replace(hour=14, minute=10)
    hands = [
        Signature(
            id=key(f"signature {number}", place),
            loan_check=check,
            role=role,
            name=name,
            of=of,
            strokes=strokes_of(name),
            signed_at=(begun + SIGNED_AFTER + place * BETWEEN_HANDS).replace(microsecond=0),
            sha256=sha256_of(statement),
        )
        for place, (role, name, of) in enumerate(stop.hands)
    ]
    saved("signature", Signature, hands, person)
    return state


def _examination(number: int, stop: Stop, museum: Written) -> Examination:
    """The state at a stop, with its photographs and observations."""
    person, one = museum.people[stop.person], museum.stops[number_of(stop)]
    item = museum.objects[one.work.number]
    day = museum.now - timedelta(days=stop.days_ago)
    day = day.replace(hour=10, minute=number % 60, second=0, microsecond=0)
    visit = Visit(
        id=key("visit", number),
        purpose=Visit.Purpose.LOAN_CHECK,
        name=f"{stop.stage.capitalize()} check, {stop.place}",
        place=stop.place,
        person=person,
        started_at=day,
        ended_at=day + timedelta(hours=1),
    )
    recent = museum.records[stop.case][1].examination
    examination = Examination(
        id=key("examination", number),
        visit=visit,
        object=item,
        examiner=person,
        started_at=day,
        place=stop.place,
        location_confirmed=True,
        sheet_width_mm=recent.sheet_width_mm,
        sheet_height_mm=recent.sheet_height_mm,
        sheet_uncertainty_mm=recent.sheet_uncertainty_mm,
        mount="Framed behind acrylic",
        verso_seen="no",
        nothing_seen=not one.sightings,
        grade=stop.case.grade,
        signed_at=day + timedelta(minutes=27),
        signed_name=person.name,
    )
    taken = photographs_of(number, one, examination)
    seen = observations_of(number, one, examination, taken, Term.objects.in_bulk())
    saved("visit", Visit, [visit], None)
    saved("examination", Examination, [examination], None)
    saved("photograph", Photograph, taken, None)
    saved("observation", Observation, seen, None)
    return examination


def number_of(stop: Stop) -> int:
    """The place of a stop among those that have a state of their own."""
    return [one for lending in LOANS for one in lending.stops if one.is_own].index(stop)


def _points(number: int, stop: Stop, check: LoanCheck) -> list[PointCheck]:
    """Each known point: as it stands in the check's examination, or why it could not be seen."""
    now = list(check.examination.observations.order_by("id"))
    rows = []
    for place, known in enumerate(known_points(check)):
        found = next(
            (one for one in now if (one.term_id, one.side) == (known.term_id, known.side)), None
        )
        if found is not None:
            now.remove(found)
        rows.append(
            PointCheck(
                id=key(f"point {number}", place),
                loan_check=check,
                observation=known,
                answer=PointCheck.Answer.SAME if found else PointCheck.Answer.NOT_VISIBLE,
                reason="" if found else stop.unseen.get(known.term_id, "Under the mount."),
                now=found,
            )
        )
    return rows


def _back_home(lending: Lending, items: Sequence[Object], museum: Written) -> None:
    person = museum.people[ARRANGED_BY]
    for item in items:
        came = item.moves.order_by("at").last()
        if came is None or came.from_location is None:
            continue
        record_change(
            "move",
            None,
            {
                "object": item,
                "to_location": came.from_location,
                "at": museum.now + timedelta(days=lending.last_day + 1),
                "person": person,
                "note": f"Back from {lending.borrower}.",
            },
            person,
        )


def strokes_of(name: str) -> list[list[list[int]]]:
    """A hand's line for each word of a name, the same each time: thousandths of the field."""
    random = stream(len(name), "signature", name)
    words, left, strokes = name.split(), 90.0, []
    for word in words:
        width = 640 / len(words)
        line = []
        for place in range(6 * len(word)):
            share = place / (6 * len(word))
            rise = 120 if place < 6 else 60
            line.append(
                [
                    round(left + width * share + random.normal(0, 3)),
                    round(230 - 20 * share + rise * float(random.uniform(-1, 1))),
                ]
            )
        strokes.append(line)
        left += width + 40
    return strokes
