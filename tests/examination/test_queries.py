"""Examinations in full: complete, newest first, and cheap."""

from datetime import timedelta

import pytest
from django.utils import timezone

from survey.catalogue.models import Object
from survey.examination.models import Examination
from survey.examination.queries import examinations_in_full
from tests.factories import (
    AmendmentFactory,
    ExaminationFactory,
    MeasurementFactory,
    ObjectFactory,
    ObservationFactory,
    PhotographFactory,
    RecommendationFactory,
    WatermarkFactory,
)

pytestmark = pytest.mark.django_db


def examined(item: Object, days_ago: int) -> Examination:
    """An examination with two of each part, one of which was deleted."""
    made: Examination = ExaminationFactory(
        object=item, signed=True, started_at=timezone.now() - timedelta(days=days_ago)
    )
    for deleted_at in (None, timezone.now()):
        for factory in (
            PhotographFactory,
            ObservationFactory,
            MeasurementFactory,
            RecommendationFactory,
            WatermarkFactory,
            AmendmentFactory,
        ):
            factory(examination=made, deleted_at=deleted_at)
    return made


def test_it_is_newest_first_and_leaves_out_what_was_deleted() -> None:
    item = ObjectFactory()
    older, newer = examined(item, 10), examined(item, 2)
    ExaminationFactory(object=item, deleted_at=timezone.now())
    examined(ObjectFactory(), 1)
    history = list(examinations_in_full().filter(object=item))
    assert history == [newer, older]
    for part in (
        "photographs",
        "observations",
        "measurements",
        "recommendations",
        "watermarks",
        "amendments",
    ):
        assert len(getattr(history[0], part).all()) == 1


def test_it_takes_as_many_queries_for_six_examinations_as_for_one(
    django_assert_num_queries,
) -> None:
    item = ObjectFactory()
    for days_ago in range(6):
        examined(item, days_ago)
    with django_assert_num_queries(7):
        for examination in examinations_in_full().filter(object=item):
            assert examination.visit.name and examination.examiner.name
            assert [seen.term.name for seen in examination.observations.all()]
            assert examination.photographs.all() and examination.measurements.all()
            assert examination.recommendations.all() and examination.watermarks.all()
            assert examination.amendments.all()
