"""Open questions in words: both values, who gave each and when, and which object it is about."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from rest_framework import serializers

from survey.catalogue.models import Object
from survey.examination.models import Examination
from survey.reports.words import (
    CODED,
    entity_name,
    field_name,
    moment_in_words,
    unit_of,
    value_in_words,
    wire_field,
)
from survey.sync import conflict, registry
from survey.sync.clock import Stamp
from survey.sync.models import Change, OpenQuestion

# Fields whose value is any number of codes.
LISTS = {"lights", "hazards"}
TEXTAREA = "textarea.html"


@dataclass(frozen=True)
class Side:
    words: str
    who: str
    when: str


@dataclass(frozen=True)
class Asked:
    """One open question.

    object   the object it is about, None if the record is about no single object
    what     the record and the field, in words
    choices  values a third answer may take, as (value, words); empty for free text
    takes_many   a third answer is any number of the choices
    takes_lines  a third answer is text of several lines
    takes_other  whether a third answer can be given at the desk
    unit     of a number, else empty
    fixed    a sentence when the record is signed, so that only what is shown can stand
    """

    question: OpenQuestion
    object: Object | None
    what: str
    shown: Side
    kept: Side
    choices: list[tuple[str, str]]
    takes_many: bool
    takes_lines: bool
    takes_other: bool
    unit: str
    fixed: str


def open_questions() -> list[Asked]:
    """All of them, oldest first; a fixed number of queries for each kind of record."""
    return _asked(OpenQuestion.objects.filter(settled_at=None))


def questions_of(keys: Iterable[Any]) -> list[Asked]:
    """Those about the records with these keys."""
    return _asked(
        OpenQuestion.objects.filter(settled_at=None, entity_id__in=[str(key) for key in keys])
    )


def other_value(question: OpenQuestion, given: list[str]) -> Any:
    """A third answer as it goes over the wire. Raises ValueError with a sentence.

    given  what the form holds: one text, or the codes that were ticked
    """
    field = wire_field(question.entity, question.field)
    if not _takes_other(question.field, field):
        raise ValueError("Only one of the two values can be taken here.")
    choices = [value for value, _ in _choices(question.field, field)]
    if choices and not set(given) <= set(choices):
        raise ValueError("Choose one of the values offered.")
    if question.field in LISTS:
        return given
    text = given[0].strip() if given else ""
    if choices and not given:
        raise ValueError("Choose one of the values offered.")
    if not text and field is not None and field.allow_null:
        return None
    return {"true": True, "false": False}.get(text, text) if _is_boolean(field) else text


def _asked(found: Any) -> list[Asked]:
    questions = list(
        found.select_related("shown__person", "kept__person").order_by("asked_at", "id")
    )
    about = _records(questions)
    asked = []
    for question in questions:
        row = about.get((question.entity, question.entity_id))
        field = wire_field(question.entity, question.field)
        asked.append(
            Asked(
                question=question,
                object=_object_of(row),
                what=_what(question, row),
                shown=_side(question, question.shown, row),
                kept=_side(question, question.kept, row),
                choices=_choices(question.field, field),
                takes_many=question.field in LISTS,
                takes_lines=field is not None and field.style.get("base_template") == TEXTAREA,
                takes_other=_takes_other(question.field, field),
                unit=unit_of(question.field, row),
                fixed=_fixed(row),
            )
        )
    return asked


def _records(questions: list[OpenQuestion]) -> dict[tuple[str, str], Any]:
    keys: dict[str, list[str]] = defaultdict(list)
    for question in questions:
        keys[question.entity].append(question.entity_id)
    found: dict[tuple[str, str], Any] = {}
    for entity, of_entity in keys.items():
        known = registry.named(entity)
        if known is None:
            continue
        fields = {field.name for field in known.model._meta.get_fields()}
        paths = [
            path
            for path in ("object", "examination__object", "term")
            if path.partition("__")[0] in fields
        ]
        rows = known.model._default_manager.select_related(*paths).in_bulk(of_entity)
        found |= {(entity, str(key)): row for key, row in rows.items()}
    return found


def _object_of(row: Any) -> Object | None:
    if isinstance(row, Object):
        return row
    examination = getattr(row, "examination", row)
    found = getattr(examination, "object", None)
    return found if isinstance(found, Object) else None


def _what(question: OpenQuestion, row: Any) -> str:
    term = getattr(row, "term", None)
    record = term.name if term is not None else entity_name(question.entity).capitalize()
    return f"{record}: {field_name(question.field).lower()}"


def _fixed(row: Any) -> str:
    examination = getattr(row, "examination", row)
    if not isinstance(examination, Examination) or not examination.is_signed:
        return ""
    return (
        f"{examination.signed_name} signed this examination, so what is shown stays in it. To say "
        "otherwise, add an amendment on a tablet: the question is then settled with it."
    )


def _side(question: OpenQuestion, change: Change, row: Any) -> Side:
    value = conflict.value_of(change, question.field)
    return Side(
        words=value_in_words(question.entity, question.field, value, row),
        who=change.person.name if change.person else "The server",
        when=_when(change),
    )


def _when(change: Change) -> str:
    """When the person said it, by the clock of their tablet."""
    said_at = datetime.fromtimestamp(Stamp.parse(change.at).ms / 1000, tz=UTC)
    ahead = " (that tablet's clock ran ahead, so this is when it came in)"
    return moment_in_words(said_at) + (ahead if change.clock_clamped else "")


def _is_boolean(field: Any) -> bool:
    return isinstance(field, serializers.BooleanField)


def _takes_other(name: str, field: Any) -> bool:
    """Shapes, moments and keys of other records are not written by hand."""
    if name in CODED:
        return True
    by_hand = (
        serializers.CharField,
        serializers.FloatField,
        serializers.IntegerField,
        serializers.BooleanField,
        serializers.ChoiceField,
    )
    return isinstance(field, by_hand)


def _choices(name: str, field: Any) -> list[tuple[str, str]]:
    if _is_boolean(field):
        return [("true", "Yes"), ("false", "No")]
    if isinstance(field, serializers.ChoiceField):
        return [(str(value), str(words)) for value, words in field.choices.items()]
    coded = CODED.get(name)
    return [(entry["code"], entry["name"]) for entry in coded()] if coded else []
