"""The change log played again: what each field of a record must hold, and who set it."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from survey.sync import conflict
from survey.sync.conflict import DELETED
from survey.sync.models import Change


@dataclass
class Replayed:
    """One record as its changes so far left it.

    shown    the change whose word stands, by field
    altered  the same, of the fields that were altered after the record was made: FieldState
    asked    the ids of changes that left a question open, each with the fields it is about
    """

    shown: dict[str, Change] = field(default_factory=dict)
    altered: dict[str, Change] = field(default_factory=dict)
    asked: dict[object, set[str]] = field(default_factory=dict)
    last: Change | None = None

    @property
    def is_deleted(self) -> bool:
        return DELETED in self.shown and bool(conflict.value_of(self.shown[DELETED], DELETED))


def replay(changes: Iterable[Change]) -> Replayed:
    """Play the numbered changes of one record, in the order of their numbers."""
    record = Replayed()
    earlier: list[Change] = []
    for change in changes:
        if earlier:
            _weigh(record, change, earlier)
        else:
            record.shown = dict.fromkeys(change.fields, change)
        record.last = change
        earlier.append(change)
    return record


def _weigh(record: Replayed, change: Change, earlier: list[Change]) -> None:
    fields = set(change.fields)
    if record.is_deleted:
        fields.add(DELETED)  # Whoever changed it did not know, or it would have been refused.
    for name in fields:
        stood = record.altered.get(name)
        rival = None
        if conflict.is_deletion(change, stood, name):
            rival = conflict.latest_unseen(change, earlier)
        shown, kept = conflict.choose(change, rival or stood, name)
        record.shown[name] = record.altered[name] = shown
        if kept is not None:
            record.asked.setdefault(change.pk, set()).add(name)
