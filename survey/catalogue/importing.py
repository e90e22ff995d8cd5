"""Brings objects in from a CSV file: every bad row is named before anything is written."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from django.db import transaction
from rest_framework import serializers
from rest_framework.validators import UniqueValidator

from survey.access.models import Person
from survey.catalogue.models import Location, Object
from survey.catalogue.queries import STEP, walk
from survey.catalogue.serializers import ObjectSerializer, check_years
from survey.catalogue.tables import NotATable, Problem, Row, read_table
from survey.sync import log
from survey.sync.services import log_many

NEEDED = ["accession_number", "title"]
SIZES = ["width_mm", "height_mm"]
YEARS = ["earliest_year", "latest_year"]
CHOICES = {
    "studio": Object.Studio,
    "significance": Object.Significance,
    "value_band": Object.ValueBand,
}
WORDS = ["maker", "date_text", "support", "media", "mounts", "off_site_place"]
COLUMNS = [*NEEDED, *WORDS, *YEARS, *SIZES, *CHOICES, "location"]
NUMBER = re.compile(r"[-+]?\d+(\.\d+)?")
BATCH = 500


@dataclass(frozen=True)
class ImportReport:
    """good_rows: how many could be imported; imported: how many were."""

    good_rows: int
    problems: list[Problem] = field(default_factory=list)
    imported: int = 0


def import_objects(
    content: bytes, person: Person | None, *, commit: bool = False, take_good_rows: bool = False
) -> ImportReport:
    """Check a CSV file and, with ``commit``, add its objects to the catalogue.

    Without ``commit`` it is a dry run that writes nothing. With it nothing is written either
    while the file has any problem, unless ``take_good_rows``. All of it is one transaction,
    and is logged so that tablets receive it.

    Headings: see COLUMNS; the location is a path as ``Site › Building › Room``, "›" or ">".
    """
    if not commit:
        return checked(content)[1]
    with transaction.atomic():
        log.lock()  # So that nobody adds an object between the check and the writing.
        objects, report = checked(content)
        if report.problems and not take_good_rows:
            return report
        Object.objects.bulk_create(objects, batch_size=BATCH)
        log_many("object", objects, person)
        return replace(report, imported=len(objects))


def checked(content: bytes) -> tuple[list[Object], ImportReport]:
    """The objects of the good rows, not yet saved, and the report."""
    try:
        rows, problems = read_table(content, COLUMNS, NEEDED)
    except NotATable as refusal:
        return [], ImportReport(0, refusal.problems)
    reader = RowReader()
    objects = []
    for row in rows:
        found, trouble = reader.read(row)
        problems += trouble
        if found is not None:
            objects.append(found)
    return objects, ImportReport(len(objects), sorted(problems, key=lambda one: one.line))


class RowReader:
    """Turns rows into objects, against the catalogue as it stands and the rows seen before."""

    def __init__(self) -> None:
        self.fields = ObjectSerializer().fields
        number = self.fields["accession_number"]
        # One question to the database for the whole file, instead of one for each row.
        number.validators = [
            one for one in number.validators if not isinstance(one, UniqueValidator)
        ]
        self.taken = {
            number.casefold()
            for number in Object.objects.values_list("accession_number", flat=True)
        }
        self.first_lines: dict[str, int] = {}
        self.places = places_by_path()

    def read(self, row: Row) -> tuple[Object | None, list[Problem]]:
        """The object, or None with every problem of the row."""
        values: dict[str, Any] = {}
        problems: list[Problem] = []

        def report(column: str, sentence: str) -> None:
            problems.append(Problem(row.line, column, row.cells.get(column, ""), sentence))

        for column, cell in row.cells.items():
            try:
                values[column] = self.value(column, cell)
            except serializers.ValidationError as error:
                report(column, sentence_of(error))
        repeated = self.repeats(row)
        if repeated:
            report("accession_number", repeated)
        if values.get("location") and values.get("off_site_place"):
            report("off_site_place", "Say one of the two: a location, or a place outside the tree.")
        try:
            check_years(values.get("earliest_year"), values.get("latest_year"))
        except serializers.ValidationError as error:
            report(*by_field(error))
        return (None if problems else Object(**values)), problems

    def value(self, column: str, cell: str) -> Any:
        """What a cell holds. Raises a validation error with a sentence."""
        if column == "location":
            return self.place(cell)
        if column in NEEDED:
            return self.fields[column].run_validation(" ".join(cell.split()))
        if column in CHOICES:
            return choice(CHOICES[column], cell) if cell else default_of(column)
        if column in (*SIZES, *YEARS):
            return self.fields[column].run_validation(plain_number(cell)) if cell else None
        return self.fields[column].run_validation(cell)

    def repeats(self, row: Row) -> str:
        """A sentence if the accession number was met before, however it is capitalised."""
        number = " ".join(row.cells["accession_number"].split()).casefold()
        if number in self.taken:
            return "The catalogue already has this accession number: an import only adds objects."
        if not number:
            return ""
        first = self.first_lines.setdefault(number, row.line)
        if first != row.line:
            return f"Line {first} has the same accession number: keep one of the two."
        return ""

    def place(self, path: str) -> Location | None:
        names = [" ".join(name.split()) for name in re.split("[›>]", path)] if path else []
        keys = tuple(name.casefold() for name in names)
        for depth in range(1, len(keys) + 1):
            if keys[:depth] not in self.places:
                within = f"within {STEP.join(names[: depth - 1])}" if depth > 1 else "at the top"
                raise serializers.ValidationError(
                    f"There is no “{names[depth - 1]}” {within} of the tree of locations. "
                    "Mend the path, or add the location first."
                )
        return self.places[keys] if keys else None


def places_by_path() -> Mapping[tuple[str, ...], Location]:
    """Every place by the names that lead to it, in lower case."""
    places: dict[tuple[str, ...], Location] = {}
    path: list[str] = []
    for place, depth in walk():
        path[depth:] = [place.name.casefold()]
        places[tuple(path)] = place
    return places


def plain_number(cell: str) -> str:
    if NUMBER.fullmatch(cell):
        return cell
    if re.fullmatch(r"[-+]?\d+,\d+", cell):
        raise serializers.ValidationError(
            f"“{cell}” has a comma: write decimals with a full stop, as {cell.replace(',', '.')}, "
            "and thousands without a mark."
        )
    raise serializers.ValidationError(
        f"“{cell}” is not a number: write digits alone, without a unit."
    )


def choice(choices: Any, cell: str) -> str:
    """The code of a choice that is written as its code or its label, in any case."""
    for code, label in choices.choices:
        if cell.casefold() in (code.casefold(), label.casefold()):
            return code
    listed = ", ".join(code for code in choices.values if code)
    raise serializers.ValidationError(f"“{cell}” is not one of: {listed}.")


def default_of(column: str) -> Any:
    model_field: Any = Object._meta.get_field(column)
    return model_field.get_default()


def by_field(error: serializers.ValidationError) -> tuple[str, str]:
    """The field and the sentence of an error that names one field."""
    (column, (sentence, *_)), *_ = error.detail.items()  # type: ignore[union-attr]
    return column, str(sentence)


def sentence_of(error: serializers.ValidationError) -> str:
    return " ".join(str(sentence) for sentence in error.detail)
