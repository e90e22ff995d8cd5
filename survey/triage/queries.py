"""Reads the queues: what must be done now, and the rest in the order of the rule."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Subquery
from django.utils import timezone

from survey.catalogue.models import Object
from survey.examination.models import Examination, Observation, Recommendation
from survey.triage import models, rule
from survey.triage.gather import HazardSeen, Standing, is_done, later_signed
from survey.triage.gather import standings as standings_today
from survey.vocabulary import queries as vocabulary

CLEARED_SHOWN = timedelta(days=90)

# Studio and kind of work.
QueueKey = tuple[str, str]


@dataclass(frozen=True)
class Row:
    """One piece of recommended work, with the reasons for its place."""

    recommendation: Recommendation
    standing: Standing
    facts: rule.Facts
    score: rule.Score

    @property
    def object(self) -> Object:
        return self.standing.object

    @property
    def queue(self) -> QueueKey:
        return self.object.studio, self.recommendation.kind_of_work


@dataclass(frozen=True)
class Placed:
    """A row and its place in its queue, counted from 1."""

    place: int
    of: int
    row: Row


@dataclass(frozen=True)
class Urgent:
    """An object with at least one hazard that cannot wait, and all open work on it."""

    standing: Standing
    hazards: tuple[HazardSeen, ...]
    rows: tuple[Row, ...]
    score: rule.Score

    @property
    def hazard_codes(self) -> list[str]:
        """Each hazard once."""
        return list(dict.fromkeys(seen.alarm.hazard for seen in self.hazards))


@dataclass(frozen=True)
class Cleared:
    """A hazard that an examination saw and a later signed one did not see again."""

    object: Object
    hazard: str
    seen_at: Examination
    cleared_by: Examination


@dataclass(frozen=True)
class Board:
    """All queues at one moment. Objects that cannot wait stand in ``act_now`` only."""

    weights: rule.Weights
    act_now: tuple[Urgent, ...]
    queues: dict[QueueKey, tuple[Placed, ...]]

    def placed(self) -> Iterable[Placed]:
        for rows in self.queues.values():
            yield from rows


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


def board(today: date | None = None) -> Board:
    """All queues under the weights that hold now. Seven queries, however many rows."""
    return board_of(standings_today(today or timezone.localdate()), shares(current_weights()))


def board_of(standings: Iterable[Standing], weights: rule.Weights) -> Board:
    """The queues of these objects under these weights. Raises ValueError with a sentence."""
    urgent: list[Urgent] = []
    queued: dict[QueueKey, list[Row]] = defaultdict(list)
    rule.check_weights(weights)
    for standing in standings:
        rows = [
            _row(standing, recommendation, weights)
            for recommendation in standing.work
            if not is_done(recommendation)
        ]
        if standing.hazards:
            score = rule.score(standing.facts, weights)
            urgent.append(Urgent(standing, standing.hazards, tuple(rows), score))
        else:
            for row in rows:
                if row.recommendation.examination_id == standing.examination.id:
                    queued[row.queue].append(row)
    urgent.sort(key=lambda entry: rule.place_key(entry.standing.facts, entry.score))
    kinds = [kind["code"] for kind in vocabulary.kinds_of_work()]
    studios = list(Object.Studio)
    ordered = sorted(
        queued, key=lambda key: (studios.index(Object.Studio(key[0])), kinds.index(key[1]))
    )
    return Board(weights, tuple(urgent), {key: _placed(queued[key]) for key in ordered})


def preview(weights: rule.Weights, today: date | None = None) -> list[Shift]:
    """Which rows would move if these weights were saved, the longest moves first.

    Raises ValueError, with a sentence, for weights that say nothing.
    """
    known = standings_today(today or timezone.localdate())
    before = board_of(known, shares(current_weights()))
    after = board_of(known, weights)
    new = {placed.row.recommendation.id: placed for placed in after.placed()}
    shifts = [
        Shift(
            row=old.row,
            old_place=old.place,
            new_place=new[old.row.recommendation.id].place,
            of=old.of,
            old_score=old.row.score,
            new_score=new[old.row.recommendation.id].row.score,
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


def _row(standing: Standing, recommendation: Recommendation, weights: rule.Weights) -> Row:
    readiness = getattr(recommendation, "readiness", None)
    facts = replace(
        standing.facts,
        space=readiness is not None and readiness.space,
        materials=readiness is not None and readiness.materials,
    )
    return Row(recommendation, standing, facts, rule.score(facts, weights))


def _placed(rows: list[Row]) -> tuple[Placed, ...]:
    ordered = sorted(
        rows, key=lambda row: (rule.place_key(row.facts, row.score), row.recommendation.id)
    )
    return tuple(Placed(place, len(ordered), row) for place, row in enumerate(ordered, start=1))
