"""The figures of a survey as a table in CSV: a line for each thing and each part of the store."""

import csv
import io
from collections.abc import Iterator, Sequence

from survey.collection.results import Cell, Line, Results
from survey.desk.survey_words import SURENESS, WHOLE

HEADINGS = (
    "what",
    "name",
    "part of the store",
    "objects in it",
    "seen",
    "have it",
    "estimate",
    "low",
    "high",
    "unit",
    "confidence, %",
    "remark",
)
# A spreadsheet would take a text that begins so for a formula.
FORMULA = ("=", "+", "-", "@", "\t")


def csv_of(found: Results) -> str:
    """Comma-separated, UTF-8, one heading. Shares are in percent, totals in their unit."""
    written = io.StringIO()
    table = csv.writer(written)
    table.writerow(HEADINGS)
    table.writerows(_rows(found))
    return written.getvalue()


def _rows(found: Results) -> Iterator[Sequence[object]]:
    for what, lines, unit in (
        ("Grade", found.grades, "%"),
        ("Damage", found.damage, "%"),
        ("Feature of making", found.features, "%"),
        ("Work", (found.rehouse,), "%"),
        ("Work", (found.hours,), "h"),
        ("Work", (found.boxes,), "boxes"),
    ):
        for line in lines:
            yield from _of_line(found, what, line, unit)


def _of_line(found: Results, what: str, line: Line, unit: str) -> Iterator[Sequence[object]]:
    names = [WHOLE, *(one.stratum.name for one in found.parts)]
    for name, cell in zip(names, (line.overall, *line.parts), strict=True):
        yield (
            what,
            _plain(line.name),
            _plain(name),
            cell.size,
            cell.seen,
            "" if cell.having is None else cell.having,
            *_figures(cell, 100 if unit == "%" else 1),
            unit,
            f"{found.survey.confidence_percent:g}",
            SURENESS[cell.estimate.sureness],
        )


def _figures(cell: Cell, factor: float) -> list[str]:
    estimate = cell.estimate.times(factor)
    return [
        "" if number is None else f"{number:.4g}" if number < 1000 else f"{number:.0f}"
        for number in (estimate.value, estimate.low, estimate.high)
    ]


def _plain(text: str) -> str:
    return f"'{text}" if text.startswith(FORMULA) else text
