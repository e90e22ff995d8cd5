"""What was done with work in the demo: every kind of act, on work that the museum has."""

import pytest
from django.utils import timezone

from survey.access.models import Person
from survey.demo.museum.people import STAFF
from survey.demo.museum.rounds import CASES
from survey.demo.rows.examinations import Record
from survey.demo.rows.handed import came_in, handed
from survey.sync.models import Change
from survey.triage import queries
from survey.triage.models import HandOver, SavedFilter
from survey.triage.pieces import desk_work
from survey.triage.stuck import stuck
from tests.factories import PersonFactory, RecommendationFactory, examined

pytestmark = pytest.mark.django_db


@pytest.fixture
def people() -> dict[str, Person]:
    return {one.username: PersonFactory(username=one.username, role=one.role) for one in STAFF}


@pytest.fixture
def records() -> list[Record]:
    found = []
    for case in CASES:
        examination = examined(20, signed=case.signed, grade=case.grade)
        work = [
            RecommendationFactory(
                examination=examination,
                kind_of_work=one.kind,
                hours=one.hours,
                note=one.note,
                hazards=list(one.hazards),
            )
            for one in case.work
        ]
        found.append(Record(examination, [], work))
    return found


def test_work_was_moved_held_split_and_handed_over(records, people):
    handed(records, people, timezone.now())
    board = queries.board()
    rows = board.by_key.values()
    assert len(board.held) == 3
    assert sum(row.is_part for row in rows) == 3
    assert sum(row.placement is not None for row in rows) >= 2
    states = {row.hand_over.state for row in rows if row.hand_over}
    assert states == set(HandOver.State.values)
    waits = [one.sentence for one in stuck(board, desk_work(), timezone.now())]
    assert any("waits to be accepted" in sentence for sentence in waits)
    assert any("sent back" in sentence for sentence in waits)
    assert any("which was expected by" in sentence for sentence in waits)
    assert SavedFilter.objects.filter(is_shared=True).exists()


def test_it_was_done_some_days_ago_and_never_in_days_to_come(records, people):
    now = timezone.now()
    handed(records, people, now)
    for row in queries.board().by_key.values():
        acts = [row.placement, row.hold, row.hand_over]
        assert all(act.at < now for act in acts if act is not None)


def test_a_small_museum_has_none_of_it(records, people):
    handed(records[:4], people, timezone.now())
    assert not desk_work().pieces


def test_examinations_came_in_on_their_own_days_and_never_in_days_to_come(records):
    record, of_now = records[0], examined(0)
    Change.objects.create(
        number=1, entity="examination", entity_id=str(record.examination.pk), at="1",
        outcome="applied",
    )  # fmt: skip
    Change.objects.create(
        number=2, entity="examination", entity_id=str(of_now.pk), at="1", outcome="applied"
    )
    came_in()
    first, second = Change.objects.order_by("number")
    since_begun = first.received_at - record.examination.started_at
    assert 0 < since_begun.total_seconds() < 24 * 3600
    assert second.received_at <= timezone.now()
