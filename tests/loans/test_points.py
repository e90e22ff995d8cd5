"""The known points of a check, through whole chains of checks."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from uuid import UUID

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from survey.examination.models import Observation
from survey.loans.models import LoanCheck, PointCheck
from survey.loans.points import carried_examinations, known_points, last_signed, open_points
from survey.loans.stated import differences
from tests.factories import LoanCheckFactory, ObservationFactory, PointCheckFactory, examined
from tests.loans.museum import check_of, lent, new_loan, phone_of, signed

pytestmark = pytest.mark.django_db
Answer = PointCheck.Answer
SEEN = (Answer.SAME, Answer.CHANGED)


def keys(observations: Any) -> set[UUID]:
    return {one.pk for one in observations}


def test_a_check_goes_through_what_its_earlier_state_tells() -> None:
    one = lent(new_loan(), observations=3)
    check = check_of(one, answers=False)
    assert keys(known_points(check)) == keys(one.observations) == keys(open_points(check))


def test_without_an_earlier_state_there_is_nothing_to_go_through() -> None:
    check = LoanCheckFactory()
    assert not known_points(check).exists() and open_points(check) == []


def test_what_was_deleted_is_no_point() -> None:
    one = lent(new_loan())
    check = check_of(one, answers=False)
    Observation.objects.filter(pk=one.observations[0].pk).update(deleted_at="2026-01-01T00:00Z")
    assert keys(known_points(check)) == {one.observations[1].pk}


@pytest.mark.parametrize("number", [2, 20])
def test_what_is_carried_of_a_loan_takes_one_query(
    number: int, django_assert_num_queries: Any
) -> None:
    loan, expected = new_loan(), set()
    for _ in range(number):
        # An earlier state stays at home, a check begun from the last one goes along.
        one = lent(loan, days_ago=20)
        examined(40, object=one.object)
        expected |= {one.state.pk, check_of(one).examination_id}
    lent(new_loan())
    with django_assert_num_queries(1):
        assert keys(carried_examinations(loan.pk)) == expected


def test_a_pull_takes_as_many_queries_for_twenty_objects_as_for_two() -> None:
    taken = []
    for number, key in ((2, "a" * 43), (20, "b" * 43)):
        loan = new_loan()
        for _ in range(number):
            check_of(lent(loan))
        phone = phone_of(loan, key)
        phone.tablet.get("/api/sync/pull?cursor=0")
        with CaptureQueriesContext(connection) as queries:
            page = phone.tablet.get("/api/sync/pull?cursor=0").json()
        assert sum(row["entity"] == "object" for row in page["rows"]) == number
        taken.append(len(queries))
    assert taken[0] == taken[1]


@dataclass(frozen=True)
class Said:
    """What is said at one check: an answer to each point, in turn, and what is newly seen."""

    answers: tuple[str, ...]
    new: int


def saids() -> st.SearchStrategy[list[Said]]:
    said = st.builds(
        Said,
        st.lists(st.sampled_from(Answer.values), min_size=1, max_size=5).map(tuple),
        st.integers(0, 2),
    )
    return st.lists(said, min_size=1, max_size=4)


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(at_first=st.integers(0, 4), chain=saids())
def test_nothing_known_is_lost_on_the_way(at_first: int, chain: list[Said]) -> None:
    """Through a chain of checks each thing that was ever seen comes up at the next one, by its
    newest word: what was seen again as it is now, and what could not be seen as it was before.
    """
    with transaction.atomic():
        _follow(at_first, chain)
        transaction.set_rollback(True)


def _follow(at_first: int, chain: list[Said]) -> None:
    state = examined(30)
    alive = [ObservationFactory(examination=state) for _ in range(at_first)]
    loan = new_loan()
    for number, said in enumerate(chain):
        earlier = last_signed(state.object_id)
        assert earlier is not None and earlier.pk == state.pk
        examination = examined(20 - number, signed=False, object=state.object)
        check = LoanCheckFactory(
            loan=loan,
            examination=examination,
            earlier=earlier,
            stage=list(LoanCheck.Stage)[min(number, 3)],
        )
        known = list(known_points(check))
        # Exactly what is alive, each once.
        assert len(known) == len(keys(known))
        assert keys(known) == keys(alive)
        alive = [*_answered(check, known, said)]
        assert open_points(check) == []
        alive += [ObservationFactory(examination=examination) for _ in range(said.new)]
        # Said outright, where nothing could be seen.
        examination.nothing_seen = not examination.observations.exists()
        examination.save()
        signed(check)
        assert list(differences(check)) == []
        state = examination


def _answered(check: LoanCheck, known: list[Observation], said: Said) -> Iterator[Observation]:
    """Answer each point; what stands for it from then on."""
    for place, observation in enumerate(known):
        answer = said.answers[place % len(said.answers)]
        now = None
        if answer in SEEN:
            now = ObservationFactory(examination=check.examination, term=observation.term)
        PointCheckFactory(
            loan_check=check,
            observation=observation,
            answer=answer,
            reason="" if answer == Answer.SAME else "Said why.",
            now=now,
        )
        yield now or observation
