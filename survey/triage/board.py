"""All queues at one moment: what cannot wait, what waits in which place, what is held.

The rule's order comes first. On it lies what people did: a piece of work that was moved stands at
the place it was given, as long as that holds, and all others follow the rule around it; what is
held stands apart. What cannot wait stands in act now, whatever else was done with it.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from typing import Any
from uuid import UUID

from django.utils import timezone

from survey.catalogue.models import Object
from survey.examination.models import Recommendation
from survey.treatment.queries import LookAgain
from survey.triage import rule, sensitivity
from survey.triage.gather import HazardSeen, Standing, is_done
from survey.triage.pieces import DeskWork
from survey.triage.work import HandOver, Hold, Piece, Placement
from survey.vocabulary import queries as vocabulary

# Studio and kind of work.
QueueKey = tuple[str, str]
# The kind of work that looking again is.
MONITOR = "monitor"


@dataclass(frozen=True)
class Row:
    """One piece of work that is still to do, with the reasons for its place.

    key          its recommendation's; of parts and bundles their own
    members      what it does of which objects: one, but for bundles. The first is the one whose
                 score counts, the highest
    piece        None where nobody did anything with it
    parts        how many parts its recommendation was split into; 1 where it was not
    again        why, where no recommendation asked for it but a treatment did whose object is to
                 be looked at again; its member's recommendation is then in no database
    """

    key: UUID
    members: tuple[tuple[Standing, Recommendation], ...]
    facts: rule.Facts
    score: rule.Score
    piece: Piece | None = None
    parts: int = 1
    placement: Placement | None = None
    # Only while it is in force.
    hold: Hold | None = None
    hand_over: HandOver | None = None
    again: LookAgain | None = None

    @property
    def standing(self) -> Standing:
        return self.members[0][0]

    @property
    def recommendation(self) -> Recommendation:
        return self.members[0][1]

    @property
    def object(self) -> Object:
        return self.standing.object

    @property
    def others(self) -> list[Object]:
        """The other objects of a bundle, each once."""
        found = {standing.object.pk: standing.object for standing, _ in self.members}
        return [item for key, item in found.items() if key != self.object.pk]

    @property
    def _is_own(self) -> bool:
        """Whether its words and hours are its own, not the recommendation's."""
        return self.piece is not None and self.piece.form != Piece.Form.WHOLE

    @property
    def is_part(self) -> bool:
        return self.piece is not None and self.piece.form == Piece.Form.PART

    @property
    def is_bundle(self) -> bool:
        return self.piece is not None and self.piece.form == Piece.Form.BUNDLE

    @property
    def hours(self) -> float | None:
        if self._is_own and self.piece is not None:
            return self.piece.hours
        return self.recommendation.hours

    @property
    def words(self) -> str:
        if self._is_own and self.piece is not None:
            return self.piece.words
        return self.recommendation.note

    @property
    def own_queue(self) -> QueueKey:
        """Where it stands unless it was moved."""
        kind = self.piece.kind_of_work if self.piece is not None else ""
        return self.object.studio, kind or self.recommendation.kind_of_work

    @property
    def queue(self) -> QueueKey:
        placement = self.placement
        is_elsewhere = placement is not None and placement.is_elsewhere
        return placement.queue if placement and is_elsewhere else self.own_queue

    @property
    def studio_name(self) -> str:
        return str(dict(Object.Studio.choices)[self.queue[0]])

    @property
    def kind_of_work(self) -> str:
        return self.queue[1]

    @property
    def name(self) -> str:
        """For sentences: ``PE.1987.3, treat``, ``PE.1987.3, treat, part 2``."""
        kind = vocabulary.kind_names().get(self.queue[1], self.queue[1])
        said = f"{self.object.accession_number}, {kind.lower()}"
        return f"{said}, part {self.piece.order}" if self.is_part and self.piece else said

    @property
    def person(self) -> Any:
        """Who has accepted to do it; None is nobody yet."""
        accepted = self.hand_over is not None and self.hand_over.is_accepted
        return self.hand_over.to_person if accepted and self.hand_over else None

    @property
    def place_key(self) -> tuple[Any, ...]:
        order = self.piece.order if self.piece is not None else 0
        return (*rule.place_key(self.facts, self.score), order, self.key)


@dataclass(frozen=True)
class Placed:
    """A row and its place in its queue, counted from 1; ``rule_place`` is where the rule has it."""

    place: int
    of: int
    row: Row
    rule_place: int


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
class Board:
    """All queues at one moment. Objects that cannot wait stand in ``act_now`` only.

    held  out of their queues for now, in the order in which they come back
    """

    weights: rule.Weights
    act_now: tuple[Urgent, ...]
    queues: dict[QueueKey, tuple[Placed, ...]]
    held: tuple[Row, ...] = ()

    def placed(self) -> Iterator[Placed]:
        for rows in self.queues.values():
            yield from rows

    @cached_property
    def urgent_rows(self) -> dict[UUID, Row]:
        """The open work in act now, each piece once."""
        return {row.key: row for entry in self.act_now for row in entry.rows}

    @cached_property
    def by_key(self) -> dict[UUID, Row]:
        """Every open piece of work, wherever it stands."""
        found = {placed.row.key: placed.row for placed in self.placed()}
        return found | {row.key: row for row in self.held} | self.urgent_rows

    def place_of(self, key: UUID) -> Placed | None:
        return next((placed for placed in self.placed() if placed.row.key == key), None)

    def spans(self, queue: QueueKey) -> dict[UUID, sensitivity.Span]:
        """The places the rule could give each row of a queue, under weights near these."""
        rows = [placed.row for placed in self.queues.get(queue, ())]
        found = sensitivity.spans(
            [row.score for row in rows], [row.place_key[1:] for row in rows], self.weights
        )
        return {row.key: span for row, span in zip(rows, found, strict=True)}

    def waits_for(self, hold: Hold, desk: DeskWork) -> list[Row]:
        """The open work that has to be done before this hold is over."""
        return awaited(hold, self.by_key, desk)


def board_of(
    standings: Iterable[Standing],
    weights: rule.Weights,
    desk: DeskWork | None = None,
    today: date | None = None,
    again: Iterable[LookAgain] = (),
) -> Board:
    """The queues of these objects under these weights, with what people did with the work.

    today  the day on which holds are over; without it, holds have no end but their being ended
    again  what is to be looked at again now, after a treatment

    Raises ValueError with a sentence.
    """
    rule.check_weights(weights)
    desk = desk or DeskWork()
    standings = list(standings)
    rows = _rows(standings, weights, desk) | _looks(standings, weights, desk, again)
    over = [
        row for row in rows.values() if row.hold and not _is_in_force(row.hold, rows, desk, today)
    ]
    rows |= {row.key: replace(row, hold=None) for row in over}
    of_object: dict[Any, list[Row]] = defaultdict(list)
    for row in rows.values():
        for item in dict.fromkeys(standing.object.pk for standing, _ in row.members):
            of_object[item].append(row)
    urgent = [
        Urgent(
            standing,
            standing.hazards,
            tuple(of_object[standing.object.pk]),
            rule.score(standing.facts, weights),
        )
        for standing in standings
        if standing.hazards
    ]
    urgent.sort(key=lambda entry: rule.place_key(entry.standing.facts, entry.score))
    cannot_wait = {row.key for entry in urgent for row in entry.rows}
    held: list[Row] = []
    queued: dict[QueueKey, list[Row]] = defaultdict(list)
    for key, row in rows.items():
        if key in cannot_wait:
            continue
        if row.hold is not None:
            held.append(row)
        else:
            queued[row.queue].append(row)
    held.sort(key=lambda row: (row.hold.until if row.hold else date.max, row.place_key))
    kinds = list(vocabulary.kind_names())
    studios = list(Object.Studio)
    ordered = sorted(
        queued, key=lambda key: (studios.index(Object.Studio(key[0])), kinds.index(key[1]))
    )
    return Board(weights, tuple(urgent), {key: placed(queued[key]) for key in ordered}, tuple(held))


def placed(rows: Sequence[Row]) -> tuple[Placed, ...]:
    """The rows of one queue in their places.

    Those that were moved are put into the rule's order of all others, from the front: so each
    stands at its place unless a later move took it. Where the queue has become shorter, last.
    """
    by_rule = sorted(rows, key=lambda row: row.place_key)
    rule_places = {row.key: place for place, row in enumerate(by_rule, start=1)}
    standing = [row for row in by_rule if _place_given(row) is None]
    moved = [(given, row) for row in by_rule if (given := _place_given(row)) is not None]
    for (place, _, _), row in sorted(moved, key=lambda one: one[0]):
        standing.insert(place - 1, row)
    return tuple(
        Placed(place, len(standing), row, rule_places[row.key])
        for place, row in enumerate(standing, start=1)
    )


def awaited(hold: Hold, rows: dict[UUID, Row], desk: DeskWork) -> list[Row]:
    """The open work among ``rows`` that a hold waits for; see standing_for."""
    return standing_for(hold.after, rows, desk)


def standing_for(target: Piece | None, rows: dict[UUID, Row], desk: DeskWork) -> list[Row]:
    """What is open of a piece of work; nothing once it is done or fell away.

    Work that was split since, put together or done as one with other work, is found as it stands
    now.
    """
    if target is None:
        return []
    if target.pk in rows:
        return [rows[target.pk]]
    if target.form == Piece.Form.PART and target.is_open is False and target.ended_at is None:
        return []
    wanted = desk.shares.get(target.pk, frozenset())
    return [row for row in rows.values() if wanted & {work.pk for _, work in row.members}]


def _place_given(row: Row) -> tuple[int, Any, int] | None:
    """Where a person put it, and what decides between two that were put at the same place: the
    later comes first."""
    placement = row.placement
    if placement is None or placement.place is None:
        return None
    return placement.place, placement.at, placement.pk or 0


def _is_in_force(hold: Hold, rows: dict[UUID, Row], desk: DeskWork, today: date | None) -> bool:
    if hold.after_id is not None:
        return bool(awaited(hold, rows, desk))
    return today is None or not hold.is_past(today)


def _rows(standings: Iterable[Standing], weights: rule.Weights, desk: DeskWork) -> dict[UUID, Row]:
    """Every open piece of work."""
    bundled: dict[UUID, list[tuple[Standing, Recommendation]]] = defaultdict(list)
    found: dict[UUID, Row] = {}
    for standing in standings:
        for work in standing.work:
            counts = standing.hazards or work.examination_id == standing.examination.id
            if is_done(work) or not counts:
                continue
            parts = desk.parts_of(work.pk)
            if bundle := desk.bundle_of(work.pk):
                bundled[bundle.pk].append((standing, work))
            elif any(part.is_open for part in parts):
                for part in parts:
                    if part.is_open:
                        found[part.pk] = _row(
                            [(standing, work)], weights, desk, part.pk, len(parts)
                        )
            else:
                found[work.pk] = _row([(standing, work)], weights, desk, work.pk)
    for key, members in bundled.items():
        found[key] = _row(members, weights, desk, key)
    return found


def _looks(
    standings: Iterable[Standing], weights: rule.Weights, desk: DeskWork, again: Iterable[LookAgain]
) -> dict[UUID, Row]:
    """The work of looking at objects again, by the key of the treatment's record."""
    by_object = {standing.object.pk: standing for standing in standings}
    found = {}
    for look in again:
        standing = by_object.get(look.object.pk)
        if standing is not None:
            key = look.record.pk
            work = Recommendation(
                pk=key,
                examination=standing.examination,
                kind_of_work=MONITOR,
                note=look_again_in_words(look),
            )
            # Nothing can be said of it, so nothing is looked for.
            Recommendation._meta.get_field("readiness").set_cached_value(work, None)
            found[key] = replace(_row([(standing, work)], weights, desk, key), again=look)
    return found


def look_again_in_words(look: LookAgain) -> str:
    """``To be looked at again since 3 May 2026, as the treatment asks that …``."""
    closed = look.record.closed_at
    asked = f"closed on {rule.in_words(timezone.localdate(closed))}" if closed else "closed"
    by = f" by {look.record.closed_by.name}" if look.record.closed_by else ""
    return (
        f"To be looked at again since {rule.in_words(look.on)}, as the treatment {asked}{by} asks."
    )


def _row(
    members: list[tuple[Standing, Recommendation]],
    weights: rule.Weights,
    desk: DeskWork,
    key: UUID,
    parts: int = 1,
) -> Row:
    """The row of these members, the highest of their scores first.

    Work on several objects could start only when space and materials are there for all.
    """
    ready = [getattr(work, "readiness", None) for _, work in members]
    space = all(one is not None and one.space for one in ready)
    materials = all(one is not None and one.materials for one in ready)
    scored = []
    for standing, work in members:
        facts = replace(standing.facts, space=space, materials=materials)
        score = rule.score(facts, weights)
        scored.append((rule.place_key(facts, score), work.pk, (standing, work), facts, score))
    scored.sort(key=lambda one: one[:2])
    _, _, _, facts, score = scored[0]
    return Row(
        key,
        tuple(member for _, _, member, _, _ in scored),
        facts,
        score,
        desk.pieces.get(key),
        parts,
        desk.placements.get(key),
        desk.holds.get(key),
        desk.hand_overs.get(key),
    )
