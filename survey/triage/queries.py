"""Reads the queues: what must be done now, and the rest in the order of the rule."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Subquery
from django.utils import timezone

from survey.catalogue.models import Object
from survey.examination.models import Examination, Observation, Recommendation
from survey.treatment.queries import LookAgain, look_again
from survey.triage import models, rule
from survey.triage.board import Board, Placed, QueueKey, Row, Urgent, board_of
from survey.triage.gather import later_signed
from survey.triage.gather import standings as standings_today
from survey.triage.pieces import DeskWork, desk_work

__all__ = [
    "Board",
    "Cleared",
    "Placed",
    "QueueKey",
    "Row",
    "Shift",
    "Urgent",
    "board",
    "board_of",
    "cleared",
    "current_weights",
    "preview",
    "shares",
    "to_look_at",
]

CLEARED_SHOWN = timedelta(days=90)


@dataclass(frozen=True)
class Cleared:
    """A hazard that an examination saw and a later signed one did not see again."""

    object: Object
    hazard: str
    seen_at: Examination
    cleared_by: Examination


@dataclass(frozen=True)
class Shift:
    """One row that another set of weights would move within its queue."""

    row: Row
    old_place: int
    new_place: int
    of: int
    old_score: rule.Score
    new_score: rule.Score

    @property
    def places(self) -> int:
        """How many places it moves; above zero is towards the front."""
        return self.old_place - self.new_place

    @property
    def places_down(self) -> int:
        return -self.places


def current_weights() -> models.Weights:
    """The newest version; the defaults, unsaved, where the department has set none."""
    return models.Weights.objects.select_related("saved_by").first() or models.Weights()


def shares(weights: models.Weights) -> rule.Weights:
    return rule.Weights(**{part: getattr(weights, part) for part in rule.PARTS})


def board(
    today: date | None = None,
    *,
    weights: models.Weights | None = None,
    desk: DeskWork | None = None,
) -> Board:
    """All queues under the weights that hold now. Twelve queries, however many rows.

    weights, desk  those that hold, where they were read before: so many queries fewer
    """
    today = today or timezone.localdate()
    weights = weights or current_weights()
    known, desk = standings_today(today), desk or desk_work()
    return board_of(known, shares(weights), desk, today, to_look_at(today))


def to_look_at(today: date) -> list[LookAgain]:
    """What a treatment asks to be looked at again, and nobody has since its day; one query."""
    return [one for one in look_again() if one.on <= today and not one.is_seen_since]


def preview(weights: rule.Weights, today: date | None = None) -> list[Shift]:
    """Which rows would move if these weights were saved, the longest moves first.

    Raises ValueError, with a sentence, for weights that say nothing.
    """
    today = today or timezone.localdate()
    known, desk, again = standings_today(today), desk_work(), to_look_at(today)
    before = board_of(known, shares(current_weights()), desk, today, again)
    after = board_of(known, weights, desk, today, again)
    new = {placed.row.key: placed for placed in after.placed()}
    shifts = [
        Shift(
            row=old.row,
            old_place=old.place,
            new_place=new[old.row.key].place,
            of=old.of,
            old_score=old.row.score,
            new_score=new[old.row.key].row.score,
        )
        for old in before.placed()
    ]
    return sorted(
        (shift for shift in shifts if shift.places),
        key=lambda shift: (-abs(shift.places), shift.new_place, shift.row.object.accession_number),
    )


def cleared(since: datetime | None = None, objects: Iterable[Any] | None = None) -> list[Cleared]:
    """Hazards that a later signed examination no longer saw, latest first; three queries.

    ``since`` bounds when the clearing examination was begun (by default CLEARED_SHOWN ago).
    """
    since = since or timezone.now() - CLEARED_SHOWN
    latest: dict[tuple[Any, str], tuple[Examination, Any]] = {}
    for examination, hazards, cleared_by in sorted(
        _hazards_ever_seen(objects), key=lambda found: (found[0].started_at, found[0].id)
    ):
        for hazard in hazards:
            latest[examination.object_id, hazard] = (examination, cleared_by)
    clearing = Examination.objects.select_related("examiner").in_bulk(
        {cleared_by for _, cleared_by in latest.values() if cleared_by}
    )
    found = [
        Cleared(examination.object, hazard, examination, clearing[cleared_by])
        for (_, hazard), (examination, cleared_by) in latest.items()
        if cleared_by and clearing[cleared_by].started_at >= since
    ]
    return sorted(
        found,
        key=lambda entry: (
            -entry.cleared_by.started_at.timestamp(),
            entry.object.accession_number,
            entry.hazard,
        ),
    )


def _hazards_ever_seen(
    objects: Iterable[Any] | None,
) -> Iterator[tuple[Examination, list[str], Any]]:
    """Examination, hazards, and the key of the first later signed examination or None."""
    living: dict[str, Any] = {
        "deleted_at__isnull": True,
        "examination__deleted_at__isnull": True,
        "examination__object__deleted_at__isnull": True,
    }
    if objects is not None:
        living["examination__object__in"] = list(objects)
    cleared_by = Subquery(later_signed("examination__").values("id")[:1])
    for observation in (
        Observation.objects.filter(**living)
        .exclude(term__hazards=[])
        .exclude(nature=Observation.Nature.FEATURE)
        .select_related("term", "examination__object")
        .annotate(cleared_by=cleared_by)
    ):
        yield observation.examination, observation.term.hazards, observation.cleared_by
    for recommendation in (
        Recommendation.objects.filter(**living)
        .exclude(hazards=[])
        .select_related("examination__object")
        .annotate(cleared_by=cleared_by)
    ):
        yield recommendation.examination, recommendation.hazards, recommendation.cleared_by
