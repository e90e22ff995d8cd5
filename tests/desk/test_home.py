"""The first page: each part says what it should, in a bounded number of queries."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from survey.reports.models import Report
from survey.sync.models import Change
from survey.triage import handing
from tests.desk.conftest import text_of
from tests.factories import (
    NeedFactory,
    ObjectFactory,
    ObservationFactory,
    RecommendationFactory,
    TermFactory,
    examined,
)
from tests.tablets import WireTablet

pytestmark = pytest.mark.django_db


def work(number: str, **values):
    item = ObjectFactory(accession_number=number)
    return RecommendationFactory(examination=examined(object=item), **values)


def first_page(client):
    return client.get(reverse("desk:home"))


def test_an_empty_museum_is_told_plainly(desk):
    page = text_of(first_page(desk))
    assert "Nothing that cannot wait." in page
    assert "Nothing is due within six weeks." in page
    assert "Nothing is stuck." in page
    assert "No examinations signed; no objects of act now; no loan checks." in page


def test_it_stands_first_in_the_navigation(desk):
    page = first_page(desk).content.decode()
    navigation = page[page.index('<nav aria-label="Desk">') :]
    assert navigation.index("The week") < navigation.index(reverse("desk:act-now"))


def test_act_now_stands_first_with_its_hazard_and_what_to_do(desk):
    examination = examined(object__title="Harbour wall")
    mould = TermFactory(name="Growing mould", hazards=["active-mould"])
    ObservationFactory(examination=examination, term=mould)
    page = text_of(first_page(desk))
    assert page.index("Act now") < page.index("Harbour wall") < page.index("Who is full")
    assert "Active mould" in page
    assert "Bag and isolate the object today" in page
    assert "Caution: mould . Local rules come first." in page


def test_an_unsigned_hazard_is_said_to_be_unsigned(desk):
    examination = examined(signed=False)
    ObservationFactory(examination=examination, term=TermFactory(hazards=["wet"]))
    assert "Not yet signed" in text_of(first_page(desk))


def test_counts_by_studio_and_kind_lead_to_their_queue(desk):
    for _ in range(3):
        RecommendationFactory(examination=examined(), kind_of_work="treat")
    page = first_page(desk)
    assert "Paper studio: treat 3" in text_of(page)
    assert "?studio=paper&amp;kind=treat" in page.content.decode()


def test_what_came_in_is_counted_by_arrival_and_not_by_the_date_of_the_visit(desk):
    tablet = WireTablet()
    weeks_ago = (timezone.now() - timedelta(days=30)).isoformat()
    item = examined().object
    visit = tablet.made("visit", purpose="off-site", name="Long loan check", started_at=weeks_ago)
    for _ in range(2):
        tablet.made("examination", visit=visit, object=str(item.pk), started_at=weeks_ago)
    assert "; 2 not yet signed;" in text_of(first_page(desk))
    Change.objects.update(received_at=timezone.now() - timedelta(days=8))
    assert "2 not yet signed" not in text_of(first_page(desk))


def test_needs_within_six_weeks_are_told_and_passed_ones_marked(desk):
    today = timezone.localdate()
    NeedFactory(title="Soon", due=today + timedelta(days=10))
    NeedFactory(title="Far off", due=today + timedelta(days=100))
    NeedFactory(title="Over", due=today - timedelta(days=3))
    page = text_of(first_page(desk))
    assert "Soon" in page and "Far off" not in page
    assert "passed 3 days ago" in page


def test_what_cannot_wait_names_its_hazard_its_work_and_who_has_it(desk, conservator):
    row = work("A")
    ObservationFactory(examination=row.examination, term=TermFactory(hazards=["active-mould"]))
    page = text_of(first_page(desk))
    assert "Active mould . Treat 4 h, nobody yet" in page
    handing.hand_over(row.pk, person=conservator, to_person=conservator, reason="Mine")
    assert "Treat 4 h, Wren Halloway" in text_of(first_page(desk))


def test_what_is_due_says_how_far_away_and_what_is_left_to_do(desk):
    row, unknown = work("A"), work("B", hours=None)
    due = timezone.localdate() + timedelta(days=10)
    for one in (row, unknown):
        NeedFactory(object=one.examination.object, title="Ink", due=due)
    page = text_of(first_page(desk))
    assert "Exhibition “Ink”" in page and "in 10 days" in page
    assert "4 h + 1 without hours" in page


def test_hours_due_fall_into_their_week_and_what_is_overdue_into_this_one(desk, conservator):
    today = timezone.localdate()
    this_monday = today - timedelta(days=today.weekday())
    overdue, next_week = work("A"), work("B", hours=2.0)
    NeedFactory(object=overdue.examination.object, due=today - timedelta(days=40))
    NeedFactory(object=next_week.examination.object, due=this_monday + timedelta(days=8))
    handing.hand_over(next_week.pk, person=conservator, to_person=conservator, reason="Mine")
    weeks = first_page(desk).context["weeks"]
    assert [week.monday for week in weeks[:2]] == [this_monday, this_monday + timedelta(weeks=1)]
    assert [(week.taken, week.nobodys) for week in weeks[:2]] == [(0, 4.0), (2.0, 0)]
    assert "Hours of work due in each week" in first_page(desk).content.decode()


def test_who_is_full_is_told_in_a_chart_and_in_a_table(desk, conservator):
    row = work("A")
    handing.hand_over(row.pk, person=conservator, to_person=conservator, reason="Mine")
    answer = first_page(desk)
    assert "Hours taken on by each person: Wren Halloway 4 h" in answer.content.decode()
    assert "Wren Halloway 4 0 not set 0" in text_of(answer)


def test_a_report_that_failed_is_stuck_until_another_is_made(desk, conservator):
    examination = examined(object__accession_number="A")
    now = timezone.now()

    def report(state: str, ago: int, sentence: str = "") -> None:
        Report.objects.create(
            about=examination.pk, state=state, asked_by=conservator, sentence=sentence,
            asked_at=now - timedelta(days=ago),
        )  # fmt: skip

    report("failed", 2, "The disk is full.")
    page = text_of(first_page(desk))
    assert "could not be made: The disk is full Wren Halloway 2 days" in page
    report("done", 1)
    assert "Nothing is stuck." in text_of(first_page(desk))


@pytest.mark.parametrize("rows", [3, 40])
def test_the_page_costs_the_same_for_many_rows(desk, rows, head, django_assert_max_num_queries):
    wet = TermFactory(hazards=["wet"])
    for number in range(rows):
        row = work(f"{number:03d}")
        NeedFactory(object=row.examination.object, due=timezone.localdate(), title=f"{number}")
        examined(10, object=row.examination.object, signed=False)
        if number % 3 == 0:
            ObservationFactory(examination=row.examination, term=wet)
    with django_assert_max_num_queries(28):
        assert first_page(desk).status_code == 200
