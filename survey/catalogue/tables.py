"""Reads a CSV file into rows that know their line, and says plainly what is wrong with it.

CSV as RFC 4180 has it; semicolons or tabs between the cells are taken as well.
"""

import csv
import difflib
import io
from collections.abc import Sequence
from dataclasses import dataclass

SEPARATORS = (",", ";", "\t")
UTF_16_STARTS = (b"\xff\xfe", b"\xfe\xff")
SAVE_AS_UTF_8 = "Open it in a spreadsheet, save it as “CSV UTF-8”, and try again."


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong. ``line`` counts from 1; ``column`` is a heading or ""."""

    line: int
    column: str
    value: str
    sentence: str

    def __str__(self) -> str:
        where = f"line {self.line}" + (f", {self.column}" if self.column else "")
        return f"{where}: {self.sentence}"


class NotATable(Exception):
    """Nothing of the file can be used."""

    def __init__(self, *problems: Problem) -> None:
        super().__init__(" ".join(problem.sentence for problem in problems))
        self.problems = list(problems)


@dataclass(frozen=True)
class Row:
    """One row: the line it begins on, and its cells by heading, without outer spaces."""

    line: int
    cells: dict[str, str]


def read_table(
    content: bytes, known: Sequence[str], needed: Sequence[str]
) -> tuple[list[Row], list[Problem]]:
    """The rows of a CSV file, and the problems of those that are left out.

    known   headings that mean something; others are reported and their cells left out
    needed  those of them without which nothing can be done

    Headings are compared without regard to case, and with spaces for underscores.
    Raises NotATable when the file has no rows that could be used at all.
    """
    text = decoded(content)
    first_line = text.strip().splitlines()[0]
    separator = max(SEPARATORS, key=lambda one: len(set(headings_in(first_line, one)) & set(known)))
    records = read_records(text, separator)
    if len(records) < 2:
        raise NotATable(Problem(1, "", "", "The file has no rows: put headings, then rows."))
    heading_line, cells = records[0]
    headings = [as_heading(cell) for cell in cells]
    problems = check_headings(heading_line, headings, known, needed)
    rows = []
    for line, cells in records[1:]:
        if len(cells) == len(headings):
            found = zip(headings, cells, strict=True)
            rows.append(Row(line, {name: cell.strip() for name, cell in found if name in known}))
        else:
            problems.append(
                Problem(
                    line,
                    "",
                    separator.join(cells)[:80],
                    f"This row has {len(cells)} cells where the headings have {len(headings)}. "
                    "Put quotation marks round a cell that holds a comma or semicolon itself.",
                )
            )
    return rows, problems


def decoded(content: bytes) -> str:
    if content.startswith(UTF_16_STARTS):
        raise NotATable(Problem(1, "", "", f"The file is in UTF-16, not UTF-8. {SAVE_AS_UTF_8}"))
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        sentence = (
            f"The file is not in UTF-8: this line has a letter in another code. {SAVE_AS_UTF_8}"
        )
        raise NotATable(Problem(line, "", "", sentence)) from error
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        raise NotATable(Problem(line, "", "", f"This is not a text file. {SAVE_AS_UTF_8}"))
    if not text.strip():
        raise NotATable(Problem(1, "", "", "The file is empty: choose another one."))
    return text


def read_records(text: str, separator: str) -> list[tuple[int, list[str]]]:
    """Every record that is not blank, with the line it begins on."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    records = []
    line = 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                records.append((line, cells))
            line = reader.line_num + 1
    except csv.Error as error:
        sentence = (
            "From here the file cannot be read: a quotation mark is opened and not closed, "
            "or stands within a cell. Double the marks that belong to the text."
        )
        raise NotATable(Problem(line, "", "", sentence)) from error
    return records


def check_headings(
    line: int, headings: list[str], known: Sequence[str], needed: Sequence[str]
) -> list[Problem]:
    """Problems of headings that can be passed over. Raises NotATable for those that cannot."""
    grave = [
        Problem(line, name, "", f"The heading “{name}” is missing: add this column.")
        for name in needed
        if name not in headings
    ]
    grave += [
        Problem(line, name, name, f"The heading “{name}” stands here twice: rename one.")
        for name in known
        if headings.count(name) > 1
    ]
    unknown = []
    for name in headings:
        if name not in known:
            alike = difflib.get_close_matches(name, known, n=1)
            advice = f"Did you mean “{alike[0]}”?" if alike else f"Use any of: {', '.join(known)}."
            sentence = f"The heading “{name}” is not known, so its column is left out. {advice}"
            unknown.append(Problem(line, name, name, sentence))
    if grave:
        raise NotATable(*grave, *unknown)
    return unknown


def headings_in(line: str, separator: str) -> list[str]:
    return [as_heading(cell.strip().strip('"')) for cell in line.split(separator)]


def as_heading(cell: str) -> str:
    return "_".join(cell.lower().replace("_", " ").split())
