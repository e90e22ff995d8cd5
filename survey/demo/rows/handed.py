"""What was done with recommended work, as if by the people themselves, some days ago."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.utils import timezone

from survey.access.models import Person
from survey.demo.museum.handed import FILTERS, HAND_OVERS, HOLDS, MOVES, SPLITS, Handed, Work
from survey.demo.museum.rounds import CASES
from survey.demo.rows.examinations import Record
from survey.examination.models import Examination, Visit
from survey.loans.models import LoanCheck
from survey.sync.models import Change
from survey.triage import handing, holding, keeping, parting, placing
from survey.triage.work import HandOver, Hold, Piece, Placement

# Tablets send in the evening, back in range; from a store without a network, a week later.
SENT_AFTER = timedelta(hours=8)
SENT_LATE_AFTER = timedelta(days=7)


def handed(records: Sequence[Record], people: dict[str, Person], now: datetime) -> None:
    """All of it, where the museum has all its sheets."""
    if len(records) < len(CASES):
        return
    works = {
        (case, place): recommendation.pk
        for case, record in enumerate(records)
        for place, recommendation in enumerate(record.recommendations)
    }
    today = timezone.localdate(now)
    parts_of: dict[Work, list[UUID]] = {}
    for split in SPLITS:
        shares = [parting.Share(words, hours, kind) for words, hours, kind in split.parts]
        parts = parting.split(works[split.work], person=people[split.by], shares=shares)
        parts_of[split.work] = [part.pk for part in parts]
        _days_ago(Piece, parts_of[split.work], "made_at", now, split.days_ago)
    for given in HAND_OVERS:
        part = parts_of[given.work][given.part - 1] if given.part else works[given.work]
        _hand(given, part, people, now)
    for wait in HOLDS:
        held = holding.hold(
            works[wait.work],
            person=people[wait.by],
            reason=wait.reason,
            until=today + timedelta(days=max(1, wait.until_in_days)),
            after=works[wait.after] if wait.after else None,
        )
        # Held some weeks ago, until a day that may have passed since.
        Hold.objects.filter(pk=held.pk).update(until=today + timedelta(days=wait.until_in_days))
        _days_ago(Hold, [held.pk], "at", now, wait.days_ago)
    for moved in MOVES:
        placement = placing.move(
            works[moved.work], person=people[moved.by], reason=moved.reason, place=moved.place
        )
        _days_ago(Placement, [placement.pk], "at", now, moved.days_ago)
    for kept in FILTERS:
        keeping.keep_filter(
            people[kept.by], name=kept.name, query=kept.query, is_shared=kept.is_shared
        )


def came_in() -> None:
    """Examinations, and checks on loans, reached the server when tablets came into range."""
    sent = {
        key: started_at + (SENT_LATE_AFTER if purpose == Visit.Purpose.OFF_SITE else SENT_AFTER)
        for rows, path in ((Examination.objects, ""), (LoanCheck.objects, "examination__"))
        for key, started_at, purpose in rows.values_list(
            "pk", f"{path}started_at", f"{path}visit__purpose"
        )
    }
    changes = list(Change.objects.filter(entity__in=["examination", "loan_check"]))
    for change in changes:
        if (at := sent.get(UUID(change.entity_id))) is not None:
            change.received_at = min(at, change.received_at)
    Change.objects.bulk_update(changes, ["received_at"], batch_size=500)


def _hand(given: Handed, key: UUID, people: dict[str, Person], now: datetime) -> None:
    to = people.get(given.to)
    done = handing.hand_over(
        key,
        person=people[given.by],
        reason=given.reason,
        to_person=to,
        to_studio="" if to else given.to,
    )
    if given.answer == "" and to:
        handing.accept(key, person=to)
    elif given.answer and to:
        handing.send_back(key, person=to, answer=given.answer)
    _days_ago(HandOver, [done.pk], "at", now, given.days_ago)
    if given.answer is not None:
        _days_ago(HandOver, [done.pk], "answered_at", now, given.days_ago - 1)


def _days_ago(model: Any, keys: list[Any], field: str, now: datetime, days: int) -> None:
    model.objects.filter(pk__in=keys).update(**{field: now - timedelta(days=days)})
