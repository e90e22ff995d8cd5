"""The week: what cannot wait first, then what waits, what came in, and what is wanted soon."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from survey.sync.models import Change
from tests.desk.conftest import text_of
from tests.factories import (
    NeedFactory,
    ObservationFactory,
    RecommendationFactory,
    TermFactory,
    examined,
)
from tests.tablets import WireTablet

pytestmark = pytest.mark.django_db


def test_act_now_stands_first_with_its_sentence_and_what_to_do(desk):
    examination = examined(object__title="Harbour wall")
    mould = TermFactory(name="Growing mould", hazards=["active-mould"])
    ObservationFactory(examination=examination, term=mould)
    page = text_of(desk.get(reverse("desk:home")))
    assert page.index("Act now") < page.index("Harbour wall") < page.index("What waits where")
    assert "Mould seems to be growing" in page
    assert "Bag and isolate the object today" in page
    assert "Caution: mould . Local rules come first." in page


def test_an_unsigned_hazard_is_said_to_be_unsigned(desk):
    examination = examined(signed=False)
    ObservationFactory(examination=examination, term=TermFactory(hazards=["wet"]))
    assert "Not yet signed" in text_of(desk.get(reverse("desk:home")))


def test_counts_by_studio_and_kind_lead_to_their_queue(desk):
    for _ in range(3):
        RecommendationFactory(examination=examined(), kind_of_work="treat")
    page = desk.get(reverse("desk:home"))
    assert "3 pieces of treat work, Paper" in text_of(page)
    assert "?studio=paper&amp;kind=treat" in page.content.decode()


def test_hours_are_summed_and_missing_estimates_are_said(desk):
    RecommendationFactory(examination=examined(), hours=2.5)
    RecommendationFactory(examination=examined(), hours=None)
    page = text_of(desk.get(reverse("desk:home")))
    assert "hours estimated; 1 without an estimate 2.5" in page


def test_what_came_in_is_counted_by_arrival_and_not_by_the_date_of_the_visit(desk):
    tablet = WireTablet()
    weeks_ago = (timezone.now() - timedelta(days=30)).isoformat()
    item = examined().object
    visit = tablet.made("visit", purpose="off-site", name="Long loan check", started_at=weeks_ago)
    for _ in range(2):
        tablet.made("examination", visit=visit, object=str(item.pk), started_at=weeks_ago)
    row = "Long loan check Off-site visit"
    assert row in text_of(desk.get(reverse("desk:home")))
    Change.objects.update(received_at=timezone.now() - timedelta(days=8))
    assert row not in text_of(desk.get(reverse("desk:home")))


def test_needs_within_six_weeks_are_told_and_passed_ones_marked(desk):
    today = timezone.localdate()
    NeedFactory(title="Soon", due=today + timedelta(days=10))
    NeedFactory(title="Far off", due=today + timedelta(days=100))
    NeedFactory(title="Over", due=today - timedelta(days=3))
    page = text_of(desk.get(reverse("desk:home")))
    assert "Soon" in page and "Far off" not in page
    assert "Passed" in page


def test_an_empty_museum_is_told_plainly(desk):
    page = text_of(desk.get(reverse("desk:home")))
    assert "Nothing that cannot wait." in page
    assert "No work waits." in page
    assert "Nothing came in." in page
