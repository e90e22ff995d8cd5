"""The invented hours, skills, absences and estimates that the week plan rests on."""

from datetime import UTC, datetime

import pytest

from survey.access.models import Person
from survey.demo.museum.rounds import CASES
from survey.demo.museum.staffing import POSTS
from survey.demo.rows.examinations import Record
from survey.demo.rows.staffing import estimates, staffing
from survey.triage.models import Absence, Estimate, Skill, WorkingWeek
from survey.vocabulary import queries as vocabulary
from tests.factories import ExaminationFactory, PersonFactory, RecommendationFactory

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 5, 6, 9, tzinfo=UTC)


@pytest.fixture
def people() -> dict[str, Person]:
    return {post.person: PersonFactory(username=post.person) for post in POSTS}


def test_hours_skills_and_absences_are_such_as_the_desk_would_take(people):
    staffing(people, NOW)
    for row in (*WorkingWeek.objects.all(), *Skill.objects.all(), *Absence.objects.all()):
        row.full_clean()
    assert WorkingWeek.objects.count() == len(POSTS) == 3
    assert Absence.objects.earliest("first_day").first_day.isoformat() == "2026-05-11"


def test_somebody_can_do_every_kind_of_work_that_was_recommended(people):
    wanted = {work.kind for case in CASES for work in case.work}
    assert (
        wanted <= {kind for post in POSTS for kind in post.skills} <= set(vocabulary.kind_names())
    )


def test_longer_work_is_estimated_with_a_range(people):
    examination = ExaminationFactory()
    work = [RecommendationFactory(examination=examination, hours=hours) for hours in (1.0, 9.0)]
    estimates([Record(examination, [], work)], people, NOW)
    estimate = Estimate.objects.get()
    estimate.full_clean()
    assert (estimate.piece_id, estimate.likely) == (work[1].pk, 9.0)
    assert estimate.low < estimate.likely < estimate.high
