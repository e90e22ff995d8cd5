"""The invented record of light."""

from datetime import UTC, datetime
from types import SimpleNamespace

import pytest

from survey.demo.museum.displays import LIT
from survey.demo.rows.displays import displays
from survey.loans.exposure import State
from survey.loans.models import Display, Responsivity
from survey.loans.queries import light_of
from tests.factories import ObjectFactory, PersonFactory

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("day", [(2026, 1, 1), (2028, 2, 29), (2027, 12, 31)])
def test_a_dozen_objects_have_a_history_that_the_desk_would_take(day):
    now = datetime(*day, 9, tzinfo=UTC)
    people = {
        name: PersonFactory(username=name)
        for name in {hang.person for lit in LIT for hang in lit.hangs}
    }
    items = [ObjectFactory() for _ in range(max(lit.case for lit in LIT) + 1)]
    examined = [SimpleNamespace(work=SimpleNamespace(number=place)) for place in range(len(items))]
    displays(examined, items, people, now)  # type: ignore[arg-type]
    assert Display.objects.values("object").distinct().count() == len(LIT) >= 12
    for display in Display.objects.all():
        display.full_clean()
    for said in Responsivity.objects.all():
        said.full_clean()
    states = {lit.case: light_of(items[lit.case], now.date()).balance(now.year) for lit in LIT}
    assert states[13].state is State.OVER
    assert {lit.case for lit in LIT if not lit.category} == {24}
