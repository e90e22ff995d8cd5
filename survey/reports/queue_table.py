"""A queue as a workbook for a spreadsheet: its rows, why each stands where it stands, and when."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from io import BytesIO
from typing import Any
from uuid import UUID

from django.utils import timezone
from openpyxl import Workbook
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE, Cell
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from survey.reports.words import entry_name, standing_at
from survey.triage import models, rule
from survey.triage.board import Placed, Row
from survey.triage.gather import HazardSeen
from survey.triage.history import moved_in_words
from survey.triage.queries import shares
from survey.triage.sensitivity import WITHIN_WORDS, Span
from survey.vocabulary import queries as vocabulary

CONTENT_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
POINTS, HOURS, DAY = "0.0", "0.##", "yyyy-mm-dd"
# A spreadsheet takes these for a formula, or for what leads to one.
FORMULA_LIKE = ("=", "+", "-", "@", "\t", "\r")
LONGEST_TEXT = 32_000
WIDEST = 60


@dataclass(frozen=True)
class Entry:
    """One row of the table.

    placed, span  None of work that stands in no queue
    hazards       why it stands in act now
    held          in words, until when
    """

    row: Row
    placed: Placed | None = None
    span: Span | None = None
    hazards: Sequence[HazardSeen] = ()
    held: str = ""

    @property
    def stands_in(self) -> str:
        if self.placed is not None:
            return "Queue"
        return "Held" if self.held else "Act now"

    @property
    def reason(self) -> str:
        """Why it stands in act now, or is held; "" of work in its queue."""
        hold = self.row.hold
        if self.held and hold is not None:
            return f"{self.held}. {hold.by.name}: {hold.reason}"
        known = vocabulary.hazards()
        return "; ".join(
            f"{entry_name(known, seen.alarm.hazard)}: {seen.alarm.sentence}"
            for seen in self.hazards
        )

    @property
    def seen_on(self) -> date | None:
        """The first day on which one of its hazards was seen."""
        return min((_day(seen.examination.started_at) for seen in self.hazards), default=None)

    @property
    def until(self) -> date | None:
        return self.row.hold.until if self.held and self.row.hold else None


@dataclass(frozen=True)
class Column:
    head: str
    value: Callable[[Entry], Any]
    format: str = ""
    width: int = 12


def workbook(
    entries: Sequence[Entry],
    *,
    weights: models.Weights,
    named: Iterable[str],
    paths: Mapping[UUID, str],
    made_at: datetime,
    without_work: int = 0,
) -> bytes:
    """The file, as Office Open XML.

    named  the filters that are set, in words
    paths  of places; see location_paths
    without_work  how many objects cannot wait, of which no work is recommended yet
    """
    book = Workbook()
    queue = book.active
    assert isinstance(queue, Worksheet)
    queue.title = "Queue"
    _write_queue(queue, entries, paths)
    _write_why(book.create_sheet("Why"), entries)
    about = book.create_sheet("About")
    _write_about(about, len(entries), without_work, weights, list(named), made_at)
    book.properties.title = "Queues"
    book.properties.creator = "Fieldleaf"
    file = BytesIO()
    book.save(file)
    return file.getvalue()


def columns(paths: Mapping[UUID, str]) -> list[Column]:
    """The columns of the sheet, with their units in the heads."""

    def points_of(part: str) -> Callable[[Entry], float]:
        return lambda one: next(line.points for line in one.row.score.lines if line.part == part)

    return [
        Column("Stands in", lambda one: one.stands_in),
        Column("Why act now, or held", lambda one: one.reason, width=48),
        Column("Hazard seen on", lambda one: one.seen_on, DAY),
        Column("Held until", lambda one: one.until, DAY),
        Column("Place", lambda one: one.placed.place if one.placed else None, width=8),
        Column("Place by the rule", lambda one: one.placed.rule_place if one.placed else None),
        Column("Studio", lambda one: one.row.studio_name),
        Column("Kind of work", lambda one: _kind(one.row), width=18),
        Column("Accession number", lambda one: one.row.object.accession_number, width=18),
        Column("Title", lambda one: one.row.object.title, width=36),
        Column("Maker", lambda one: one.row.object.maker, width=22),
        Column("Location", lambda one: _place(one.row, paths), width=36),
        Column("What is to be done", lambda one: one.row.words, width=48),
        Column("Hours estimated, h", lambda one: one.row.hours, HOURS),
        Column("Score, points of 100", lambda one: one.row.score.points, POINTS),
        *(
            Column(f"{rule.PART_NAMES[part]}, points", points_of(part), POINTS)
            for part in rule.PARTS
        ),
        Column("Best place, weights ±20 %", lambda one: one.span.best if one.span else None),
        Column("Worst place, weights ±20 %", lambda one: one.span.worst if one.span else None),
        Column("Needed by", lambda one: _need(one.row)[0], DAY),
        Column("Needed for", lambda one: _need(one.row)[1], width=30),
        Column("Grade", lambda one: _grade(one.row)),
        Column("With", lambda one: one.row.person.name if one.row.person else "", width=20),
        Column("Moved, held or handed over", lambda one: "; ".join(_done_with(one.row)), width=48),
        Column("Examined on", lambda one: _day(one.row.standing.examination.started_at), DAY),
        Column("Examined by", lambda one: one.row.standing.examination.examiner.name, width=20),
        Column("Examination signed", lambda one: _yes(one.row.standing.examination.is_signed)),
    ]


def _write_queue(sheet: Worksheet, entries: Sequence[Entry], paths: Mapping[UUID, str]) -> None:
    known = columns(paths)
    _head(sheet, [(column.head, column.width) for column in known])
    for number, entry in enumerate(entries, start=2):
        for place, column in enumerate(known, start=1):
            cell = _put(sheet, number, place, column.value(entry))
            if column.format:
                cell.number_format = column.format
    sheet.auto_filter.ref = sheet.dimensions


def _write_why(sheet: Worksheet, entries: Sequence[Entry]) -> None:
    heads = [
        ("Place", 8),
        ("Accession number", 18),
        ("Kind of work", 18),
        ("Part of the score", 20),
        ("Points", 8),
        ("Of", 8),
        ("Because", WIDEST),
    ]
    _head(sheet, heads)
    number = 2
    for entry in entries:
        for line in entry.row.score.lines:
            causes = [(cause.points, cause.sentence) for cause in line.causes]
            for points, sentence in causes or [(line.points, line.sentence)]:
                values = [
                    entry.placed.place if entry.placed else None,
                    entry.row.object.accession_number,
                    _kind(entry.row),
                    line.name,
                    points,
                    line.maximum,
                    sentence,
                ]
                for place, value in enumerate(values, start=1):
                    cell = _put(sheet, number, place, value)
                    if isinstance(value, float):
                        cell.number_format = POINTS
                number += 1


def _write_about(
    sheet: Worksheet,
    number: int,
    without_work: int,
    weights: models.Weights,
    named: list[str],
    made_at: datetime,
) -> None:
    _head(sheet, [("What", 34), ("Value", WIDEST)])
    most = rule.maxima_tenths(shares(weights))
    facts: list[tuple[str, Any]] = [
        ("Made on", timezone.localtime(made_at).replace(tzinfo=None)),
        ("Pieces of work", number),
        ("Objects in act now with no work recommended yet", without_work),
        ("Filters", "; ".join(named) or "None: all queues"),
        ("Weights", f"Version {weights.pk}" if weights.pk else "Those that Fieldleaf starts with"),
    ]
    if weights.pk:
        facts += [
            ("Weights saved on", timezone.localtime(weights.saved_at).replace(tzinfo=None)),
            ("Weights saved by", weights.saved_by.name if weights.saved_by else ""),
            ("Why these weights", weights.reason),
        ]
    facts += [
        (f"{rule.PART_NAMES[part]}, most points of 100", most[part] / 10) for part in rule.PARTS
    ]
    facts += [
        (
            "How rows are ordered",
            "By score, highest first; equal scores by the nearest date, then by accession number. "
            "Objects with a hazard that cannot wait stand before all queues, in act now; what is "
            "held stands last.",
        ),
        (
            "Best and worst place",
            f"Bounds of the places the rule could give the row under {WITHIN_WORDS}.",
        ),
        ("What the score is", "It advises; the conservator decides and signs."),
    ]
    for row, (name, value) in enumerate(facts, start=2):
        _put(sheet, row, 1, name)
        cell = _put(sheet, row, 2, value)
        cell.alignment = Alignment(wrap_text=True, vertical="top", horizontal="left")
        if isinstance(value, datetime):
            cell.number_format = "yyyy-mm-dd hh:mm"
        elif isinstance(value, float):
            cell.number_format = POINTS


def _head(sheet: Worksheet, heads: Sequence[tuple[str, int]]) -> None:
    """The first line, which stays in view, and the columns' widths."""
    for place, (name, width) in enumerate(heads, start=1):
        cell = _put(sheet, 1, place, name)
        cell.font = Font(bold=True)
        cell.alignment = Alignment(wrap_text=True, vertical="top")
        sheet.column_dimensions[get_column_letter(place)].width = min(width, WIDEST)
    sheet.freeze_panes = "A2"


def _put(sheet: Worksheet, row: int, column: int, value: Any) -> Cell:
    """Write a value as what it is. Words that a spreadsheet would calculate stay words."""
    cell = sheet.cell(row=row, column=column)
    assert isinstance(cell, Cell)
    if isinstance(value, str):
        value = ILLEGAL_CHARACTERS_RE.sub(" ", value)[:LONGEST_TEXT]
        cell.value = value or None
        if value.startswith(FORMULA_LIKE):
            cell.data_type = "s"
            cell.quotePrefix = True
    else:
        cell.value = value
    return cell


def _kind(row: Row) -> str:
    return entry_name(vocabulary.kinds_of_work(), row.kind_of_work)


def _grade(row: Row) -> str:
    return entry_name(vocabulary.grades(), row.facts.grade) if row.facts.grade else "Not graded"


def _place(row: Row, paths: Mapping[UUID, str]) -> str:
    return standing_at(row.object.location_id, row.object.off_site_place, dict(paths))


def _need(row: Row) -> tuple[date | None, str]:
    """The nearest date, and what all the needs are for."""
    dates = [need.due for need in row.facts.needs if need.due]
    return min(dates, default=None), "; ".join(need.title for need in row.facts.needs)


def _done_with(row: Row) -> list[str]:
    said = []
    if row.placement:
        said.append(
            f"{moved_in_words(row.placement)} by {row.placement.by.name}: {row.placement.reason}"
        )
    if row.hold:
        said.append(f"Held until {rule.in_words(row.hold.until)}: {row.hold.reason}")
    if row.hand_over:
        handed = row.hand_over
        said.append(f"Handed over to {handed.receiver}: {handed.get_state_display().lower()}")
    if row.others:
        numbers = ", ".join(item.accession_number for item in row.others)
        said.append(f"As one with {numbers}")
    return said


def _day(moment: datetime) -> date:
    return timezone.localtime(moment).date()


def _yes(is_so: bool) -> str:
    return "yes" if is_so else "no"
