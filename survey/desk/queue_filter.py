"""Narrowing the queues: what can be asked for, which rows pass, and what an address says of it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django import forms
from django.http import QueryDict

from survey.catalogue.models import Object
from survey.catalogue.queries import Passed, places_within, walk
from survey.desk.forms import ANY, kinds_of_work, places
from survey.triage.board import Board, Placed, Row, Urgent
from survey.triage.handing import colleagues
from survey.vocabulary import queries as vocabulary

NOBODY = "nobody"
ANY_HAZARD = "any"
NOT_GRADED = "none"

# Shown at once; the others open below.
FIRST = ("studio", "kind", "place", "person", "text")


class QueueFilter(forms.Form):
    """Narrows the queues. Everything may be left open."""

    studio = forms.ChoiceField(required=False, choices=[ANY, *Object.Studio.choices])
    kind = forms.ChoiceField(required=False, label="Kind of work")
    place = forms.ChoiceField(required=False, label="Location")
    person = forms.ChoiceField(required=False, label="With whom")
    text = forms.CharField(required=False, max_length=100, label="Words")
    significance = forms.ChoiceField(required=False, choices=[ANY, *Object.Significance.choices])
    grade = forms.ChoiceField(required=False)
    due = forms.DateField(
        required=False,
        label="Needed before",
        widget=forms.DateInput(attrs={"type": "date"}),
        error_messages={"invalid": "Give a day, as 2026-05-03."},
    )
    weeks = forms.IntegerField(
        required=False, min_value=0, max_value=520, label="Needed within, weeks"
    )
    hazard = forms.ChoiceField(required=False, label="Hazard (act now)")
    hours = forms.ChoiceField(
        required=False, choices=[ANY, ("set", "Set"), ("none", "No hours set")], label="Hours"
    )
    held = forms.ChoiceField(
        required=False, choices=[("", "Not held"), ("yes", "Held")], label="Held"
    )

    def __init__(self, *args: Any, passed: Passed | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.passed = walk() if passed is None else passed
        people = [(str(person.pk), person.name) for person in colleagues()]
        grades = [(grade["code"], grade["name"]) for grade in vocabulary.grades()]
        hazards = [(hazard["code"], hazard["name"]) for hazard in vocabulary.hazards()]
        for name, choices in {
            "kind": [ANY, *kinds_of_work()],
            "place": [ANY, *places(self.passed)],
            "person": [ANY, (NOBODY, "Nobody yet"), *people],
            "grade": [ANY, *grades, (NOT_GRADED, "Not graded")],
            "hazard": [("", "None: the queues"), (ANY_HAZARD, "Any hazard"), *hazards],
        }.items():
            self.fields[name].choices = choices  # type: ignore[attr-defined]

    @property
    def first(self) -> list[forms.BoundField]:
        return [self[name] for name in FIRST]

    @property
    def others(self) -> list[forms.BoundField]:
        return [self[name] for name in self.fields if name not in FIRST]

    @property
    def others_used(self) -> bool:
        return self.is_bound and any(
            self.data.get(name) for name in self.fields if name not in FIRST
        )

    def named(self) -> list[str]:
        """Each filter that is set, in words: ``Studio: Paper``."""
        said = []
        for name, value in self.cleaned_data.items():
            if value not in ("", None):
                field = self.fields[name]
                choices = dict(getattr(field, "choices", []))
                label = field.label or name.capitalize()
                said.append(f"{label}: {str(choices.get(value, value)).strip()}")
        return said

    @property
    def wanted(self) -> dict[str, Any] | None:
        """What is asked for; None while nothing is, or something is not understood."""
        return self.cleaned_data if self.is_bound and self.is_valid() else None


@dataclass(frozen=True)
class Narrowed:
    """What passes. ``rows`` keep the places they have among all."""

    rows: list[Placed]
    held: list[Row]
    urgent: list[Urgent]

    @property
    def urgent_rows(self) -> dict[UUID, Row]:
        """The open work in act now that passes, each piece once."""
        return {row.key: row for entry in self.urgent for row in entry.rows}

    @property
    def number(self) -> int:
        return len(self.rows) + len(self.held) + len(self.urgent_rows)


def narrowed(board: Board, filters: QueueFilter, *, is_whole: bool = False) -> Narrowed:
    """All that passes; all queues while nothing is asked for or a filter is not understood.

    is_whole  with held work and what cannot wait, as paper and tables have it; else these come
              only where they are asked for
    """
    wanted = filters.wanted
    if wanted is None:
        held, urgent = (list(board.held), list(board.act_now)) if is_whole else ([], [])
        return Narrowed(list(board.placed()), held, urgent)
    within = set(places_within([wanted["place"]], filters.passed)) if wanted["place"] else None
    if wanted["hazard"]:
        return Narrowed(
            [], [], [entry for entry in board.act_now if _is_urgent(entry, wanted, within)]
        )
    if wanted["held"]:
        return Narrowed([], [row for row in board.held if passes(row, wanted, within)], [])
    rows = [one for one in board.placed() if passes(one.row, wanted, within)]
    if not is_whole:
        return Narrowed(rows, [], [])
    any_hazard = {**wanted, "hazard": ANY_HAZARD}
    return Narrowed(
        rows,
        [row for row in board.held if passes(row, wanted, within)],
        [entry for entry in board.act_now if _is_urgent(entry, any_hazard, within)],
    )


def passes(row: Row, wanted: Mapping[str, Any], within: set[UUID] | None) -> bool:
    """Whether all that is asked for is true of a row; of a bundle, of one of its objects."""
    objects = [row.object, *row.others]
    studio, kind = row.queue
    return (
        wanted["studio"] in ("", studio)
        and wanted["kind"] in ("", kind)
        and wanted["significance"] in ("", *(item.significance for item in objects))
        and wanted["grade"] in ("", row.facts.grade or NOT_GRADED)
        and (within is None or any(item.location_id in within for item in objects))
        and _is_with(row, wanted["person"])
        and wanted["hours"] in ("", "none" if row.hours is None else "set")
        and _is_needed(row, wanted["weeks"], wanted["due"])
        and _has_words(row, wanted["text"])
    )


def as_query(given: QueryDict) -> str:
    """The filters of an address, without what is empty and without the page: to be kept."""
    known = {name: str(given.get(name, "")).strip() for name in QueueFilter.base_fields}
    return urlencode({name: value for name, value in known.items() if value})


def _is_urgent(entry: Urgent, wanted: Mapping[str, Any], within: set[UUID] | None) -> bool:
    if wanted["hazard"] not in (ANY_HAZARD, *entry.hazard_codes):
        return False
    if entry.rows:
        return any(passes(row, wanted, within) for row in entry.rows)
    # Nobody recommended work on it yet: what is asked of the work is not true of it.
    item = entry.standing.object
    return (
        wanted["studio"] in ("", item.studio)
        and wanted["significance"] in ("", item.significance)
        and (within is None or item.location_id in within)
        and not (wanted["kind"] or wanted["hours"] or wanted["text"])
        and wanted["person"] in ("", NOBODY)
        and wanted["grade"] in ("", entry.standing.facts.grade or NOT_GRADED)
        and wanted["weeks"] is None
        and wanted["due"] is None
    )


def _is_with(row: Row, person: str) -> bool:
    """Whether it was given to this person, accepted yet or not."""
    if not person:
        return True
    handed = row.hand_over
    given_to = handed.to_person if handed and handed.state != "sent-back" else None
    return str(given_to.pk) == person if given_to else person == NOBODY


def _is_needed(row: Row, weeks: int | None, before: date | None) -> bool:
    dates = [need.due for need in row.facts.needs if need.due]
    last = row.facts.today + timedelta(weeks=weeks) if weeks is not None else None
    return (last is None or any(due <= last for due in dates)) and (
        before is None or any(due < before for due in dates)
    )


def _has_words(row: Row, text: str) -> bool:
    known = " ".join(
        [
            *(_entry(item) for item in (row.object, *row.others)),
            row.words,
            *(seen.term for seen in row.facts.seen),
            *(need.title for need in row.facts.needs),
        ]
    ).casefold()
    return all(word in known for word in text.casefold().split())


def _entry(item: Object) -> str:
    return " ".join([item.accession_number, item.title, item.maker, item.support, item.media])
