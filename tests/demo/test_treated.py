"""The invented treatments: what the desk itself would take, in the states that they are told in."""

from datetime import timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from django.utils import timezone

from survey.access.models import Person
from survey.demo.museum.rounds import HEAD
from survey.demo.museum.treated import AFTER, TREATMENTS
from survey.demo.rows.treated import treatments
from survey.treatment.models import (
    ChosenPhotograph,
    ProposalStep,
    RecordStep,
    TreatmentProposal,
)
from survey.treatment.services import WANTED
from survey.triage.models import Readiness
from tests.factories import (
    ExaminationFactory,
    PersonFactory,
    PhotographFactory,
    RecommendationFactory,
)

pytestmark = pytest.mark.django_db

NOW = timezone.now()


@pytest.fixture
def written() -> None:
    people = {HEAD: PersonFactory(role=Person.Role.HEAD)}
    examined: list[Any] = []
    records: list[Any] = []
    for told in TREATMENTS:
        people.setdefault(told.person, PersonFactory())
        examination = ExaminationFactory(signed=True, started_at=NOW - timedelta(days=120))
        PhotographFactory(examination=examination)
        if told.case in [one.case for one in AFTER]:
            after = ExaminationFactory(
                object=examination.object, started_at=NOW - timedelta(days=18)
            )
            PhotographFactory(examination=after)
        examined.append(SimpleNamespace(case=told.case))
        work = [RecommendationFactory(examination=examination)]
        records.append(SimpleNamespace(examination=examination, recommendations=work))
    treatments(examined, records, people, NOW)


@pytest.mark.usefixtures("written")
def test_one_waits_one_is_under_way_and_one_is_done() -> None:
    states = TreatmentProposal.objects.order_by("state").values_list("state", flat=True)
    assert list(states) == ["done", "forward", "under-way"]
    done = TreatmentProposal.objects.get(state="done").record
    assert done.outcome and done.look_again_on and done.look_again_on > NOW.date()
    assert set(done.chosen.values_list("moment", flat=True)) == {
        ChosenPhotograph.Moment.BEFORE,
        ChosenPhotograph.Moment.AFTER,
    }
    assert Readiness.objects.filter(done_at__isnull=False).count() == 1


@pytest.mark.usefixtures("written")
def test_the_desk_would_take_every_word_of_them() -> None:
    for proposal in TreatmentProposal.objects.all():
        assert all(getattr(proposal, name) for name in WANTED)
    for step in (*ProposalStep.objects.all(), *RecordStep.objects.all()):
        step.clean()


@pytest.mark.usefixtures("written")
def test_solvents_come_with_their_cautions_in_the_demo() -> None:
    assert ProposalStep.objects.filter(kind__contains="solvent").exists()
