"""What was signed at a check, put into plain lines: to be read against a paper or a file.

Everything comes from the statement itself. The record only lends it names: those of terms, and of
the points that were known before, which a statement holds as keys.
"""

from collections.abc import Iterator, Mapping
from typing import Any
from uuid import UUID

from survey.examination.models import Examination, Measurement, Observation, Photograph
from survey.loans.conditions import noted
from survey.loans.models import LoanCheck, PointCheck
from survey.loans.statements import FIELDS, read_statement
from survey.reports.check_content import answer_in_words, result_of
from survey.reports.content import Facts, facts_of, given
from survey.reports.words import (
    calendar_day,
    entry_name,
    light_name,
    moment_in_words,
    size_in_words,
)
from survey.vocabulary import queries as vocabulary
from survey.vocabulary.models import Term

Row = Mapping[str, Any]
# What is kept of a row beside its own fields: keys of other rows.
KEYS = {"id", "observation", "term", "photograph", "now", "earlier", "mark", "region"}
CONDITIONS = [name for name in FIELDS["check"] if name not in KEYS]


def said_of(check: LoanCheck) -> Facts:
    """(name, words) of all that the statement of a signed check says, in the order of a report."""
    said = read_statement(check.statement)
    item, loan, examined = said["object"], said["loan"], said["examination"]
    signed = LoanCheck(loan=check.loan, **_fields(said["check"], CONDITIONS))
    seen = {UUID(row["id"]): _observation(row) for row in said["observations"]}
    points = list(_points(said["points"], seen))
    found = [one for key, one in seen.items() if key not in {now for *_, now in points}]
    found.sort(key=_by_term)
    full = Examination(**_fields(examined, ["mount", "verso_seen", "grade", "notes"]))
    answers = [answer_in_words(answer) for _, answer, _ in points]
    result = result_of(check, answers, len(found), examined["nothing_seen"], [])
    days = [calendar_day(loan[name]) for name in ("first_day", "last_day")]
    return given(
        [
            ("Object", _joined(item, ("accession_number", "title", "maker", "date_text"))),
            (
                "Loan",
                f"{loan['reference']}, {loan['title']}, from {loan['lender']} to "
                f"{loan['borrower']}, {' to '.join(days)}",
            ),
            ("Stage", signed.get_stage_display()),
            ("Venue", signed.venue or "Not said"),
            ("Examined", moment_in_words(examined["started_at"])),
            ("Sheet", _sheet(examined)),
            ("Mount", full.mount),
            ("Verso", full.get_verso_seen_display()),
            ("Condition", entry_name(vocabulary.grades(), full.grade) if full.grade else ""),
            *(("Result", sentence) for sentence in result),
            *(
                (f"Point {number}", _point(known, answer, seen.get(now) if now else None))
                for number, (known, answer, now) in enumerate(points, start=1)
            ),
            *(
                (f"{'New finding' if points else 'Observation'} {number}", _told(one))
                for number, one in enumerate(found, start=len(points) + 1)
            ),
            *(("Measured", _measured(row, seen)) for row in said["measurements"]),
            *noted(signed),
            ("Photographs", str(len(said["photographs"]))),
            *(("Photograph", _photograph(row)) for row in said["photographs"]),
            *(("Note", note) for note in (signed.note, full.notes)),
        ]
    )


def _fields(row: Row, names: list[str]) -> dict[str, Any]:
    return {name: row[name] for name in names}


def _joined(row: Row, names: tuple[str, ...]) -> str:
    return ", ".join(row[name] for name in names if row[name])


def _sheet(examined: Row) -> str:
    size = size_in_words(examined["sheet_width_mm"], examined["sheet_height_mm"])
    uncertainty = examined["sheet_uncertainty_mm"]
    return size if uncertainty is None else f"{size}, ± {uncertainty:g} mm"


def _observation(row: Row) -> Observation:
    own = [name for name in FIELDS["observations"] if name not in KEYS]
    term = Term.objects.get(pk=row["term"])
    return Observation(id=UUID(row["id"]), term=term, **_fields(row, own))


def _points(
    rows: list[Row], seen: Mapping[UUID, Observation]
) -> Iterator[tuple[Observation, PointCheck, UUID | None]]:
    """The known observation, what was answered, and the key of how it is now; in the order, and so
    with the numbers, that a report has."""
    keys = [UUID(row["observation"]) for row in rows]
    known = Observation.objects.select_related("term").in_bulk(keys)
    for row in sorted(rows, key=lambda row: _by_term(known[UUID(row["observation"])])):
        answer = PointCheck(answer=row["answer"], reason=row["reason"])
        yield known[UUID(row["observation"])], answer, UUID(row["now"]) if row["now"] else None


def _by_term(one: Observation) -> tuple[int, str, str]:
    return one.term.order, one.term.name, str(one.pk)


def _point(known: Observation, answer: PointCheck, now: Observation | None) -> str:
    name, answered = known.term.name, answer_in_words(answer)
    is_changed = answer.answer == PointCheck.Answer.CHANGED
    why = f"{'What changed' if is_changed else 'Reason'}: {answer.reason}" if answer.reason else ""
    told = [f"{name}: {answered.lower()}.", why, f"Now: {_told(now, name)}" if now else ""]
    return " ".join(filter(None, told))


def _told(one: Observation, of: str = "") -> str:
    """of  the name that was told already"""
    lights = ", ".join(light_name(code) for code in one.lights).lower()
    shown = f"Shown by {lights}." if lights else ""
    name = "" if one.term.name == of else f"{one.term.name}."
    placed = "Outlined on the sheet." if one.region else ""
    return " ".join(filter(None, [name, facts_of(one), shown, placed, one.note]))


def _measured(row: Row, seen: Mapping[UUID, Observation]) -> str:
    unit = Measurement.Unit(row["unit"]).label
    of = seen.get(UUID(row["observation"])) if row["observation"] else None
    named = f", of {of.term.name}" if of else ""
    return f"{row['what']}: {row['value']:.10g} ± {row['uncertainty']:.10g} {unit}{named}"


def _photograph(row: Row) -> str:
    side = Photograph(side=row["side"]).get_side_display().lower()
    name = f"{light_name(row['light'], row['azimuth_deg'])}, {side}"
    caption = f", {row['caption']}" if row["caption"] else ""
    return f"{name}, taken {moment_in_words(row['taken_at'])}{caption}"
