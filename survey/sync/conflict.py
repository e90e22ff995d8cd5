"""The rule for one field that two people changed without seeing each other's word.

Different fields never meet here: both stand. Of two values for the same field, the one with
the later clock is shown, and the other is kept beside it as an open question.
"""

from collections.abc import Collection, Iterable
from typing import Any

from django.utils import timezone

from survey.sync.models import Change, FieldState, OpenQuestion

DELETED = "deleted"


def value_of(change: Change, field: str) -> Any:
    """What a change says of a field. One that does not speak of deletion takes the row to live."""
    return change.fields.get(field, False) if field == DELETED else change.fields.get(field)


def weigh(change: Change, fields: Collection[str]) -> tuple[set[str], bool]:
    """Set each field of a logged change against what the record already holds.

    Returns the fields whose new value is to be shown, and whether a question was left open.
    """
    of_record = {"entity": change.entity, "entity_id": change.entity_id}
    before = {
        state.field: state.change
        for state in FieldState.objects.filter(**of_record).select_related("change")
    }
    questions = list(
        OpenQuestion.objects.filter(**of_record, settled_at=None).select_related("kept")
    )
    stands: set[str] = set()
    asked = False
    states = []
    for field in fields:
        stood = before.get(field)
        rival = _unseen_edit(change) if is_deletion(change, stood, field) else None
        of_field = [question for question in questions if question.field == field]
        shown, is_open = _shown(change, rival or stood, of_field, field)
        states.append(FieldState(**of_record, field=field, change=shown))
        asked = asked or is_open
        if value_of(shown, field) == value_of(change, field):
            stands.add(field)
    FieldState.objects.bulk_create(
        states,
        update_conflicts=True,
        unique_fields=["entity", "entity_id", "field"],
        update_fields=["change"],
    )
    return stands, asked


def has_seen(change: Change, earlier: Change) -> bool:
    """Whether the author knew of the earlier change: looked at it, or made it."""
    is_own = change.device_id is not None and change.device_id == earlier.device_id
    return is_own or change.base >= (earlier.number or 0)


def choose(change: Change, before: Change | None, field: str) -> tuple[Change, Change | None]:
    """Which of two words on a field is shown; and the other, where it is kept beside it."""
    if before is None or has_seen(change, before):
        return change, None
    kept, shown = sorted((before, change), key=lambda one: one.at)
    agrees = value_of(kept, field) == value_of(shown, field)
    return shown, None if agrees else kept


def is_deletion(change: Change, before: Change | None, field: str) -> bool:
    """Whether it would delete a record that lives. A second deletion only agrees with the first."""
    lives = before is None or not value_of(before, DELETED)
    return field == DELETED and lives and bool(value_of(change, field))


def latest_unseen(deletion: Change, earlier: Iterable[Change]) -> Change | None:
    """The latest change to the record that whoever deleted it had not seen."""
    unseen = [change for change in earlier if not has_seen(deletion, change)]
    return max(unseen, key=lambda change: change.at, default=None)


def _shown(
    change: Change, before: Change | None, questions: list[OpenQuestion], field: str
) -> tuple[Change, bool]:
    """The change to be shown from now on, and whether this one left a question open."""
    mine = next((question for question in questions if _is_its_side(change, question)), None)
    shown, kept = choose(change, before, field)
    if kept is None:
        if mine is not None:
            # The side whose word was kept now knows, or agrees with, what is shown.
            settle(mine, change.person_id)
            questions.remove(mine)
    elif mine is not None:
        mine.kept = kept
    else:
        questions.append(
            OpenQuestion(entity=change.entity, entity_id=change.entity_id, field=field, kept=kept)
        )
    for question in questions:
        question.shown = shown
        question.save()
    return shown, kept is not None


def _is_its_side(change: Change, question: OpenQuestion) -> bool:
    """Whether the kept word is this device's own, or the same word."""
    kept = question.kept
    is_own = change.device_id is not None and change.device_id == kept.device_id
    return is_own or value_of(kept, question.field) == value_of(change, question.field)


def _unseen_edit(deletion: Change) -> Change | None:
    later = Change.objects.filter(
        entity=deletion.entity, entity_id=deletion.entity_id, number__gt=deletion.base
    ).exclude(pk=deletion.pk)
    return latest_unseen(deletion, later)


def restates(answer: Change, question: OpenQuestion) -> bool:
    """Whether an answer says no more than that what is shown shall stand."""
    shown = FieldState.objects.select_related("change").get(
        entity=question.entity, entity_id=question.entity_id, field=question.field
    )
    return answer.fields == {question.field: value_of(shown.change, question.field)}


def settle(question: OpenQuestion, person_id: int | None) -> None:
    question.settled_at = timezone.now()
    question.settled_by_id = person_id
    question.save(update_fields=["settled_at", "settled_by"])
