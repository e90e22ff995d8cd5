"""Queues at the desk: order with reasons, filters, toggles, paper, and a bounded cost."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from survey.catalogue.models import Object
from survey.triage.models import Readiness
from tests.desk.conftest import text_of
from tests.factories import (
    NeedFactory,
    ObjectFactory,
    ObservationFactory,
    PhotographFactory,
    RecommendationFactory,
    TermFactory,
    examined,
    location_chain,
)

pytestmark = pytest.mark.django_db

QUEUE = "desk:queue"


def work(kind: str = "treat", grade: str = "fair", **values):
    item = ObjectFactory(**values)
    return RecommendationFactory(examination=examined(object=item, grade=grade), kind_of_work=kind)


def numbers_on(client, **filters) -> list[str]:
    """Accession numbers of the rows, in order."""
    page = client.get(reverse(QUEUE), filters)
    return [
        placed.row.object.accession_number
        for section in page.context["sections"]
        for placed in section.rows
    ]


def test_rows_stand_by_score_and_say_why_in_words_and_numbers(desk):
    tear = TermFactory(name="Long tear")
    worse = work(grade="poor", accession_number="B", significance="high")
    ObservationFactory(
        examination=worse.examination, term=tear, severity="severe", extent="overall"
    )
    work(grade="good", accession_number="A", significance="low")
    page = desk.get(reverse(QUEUE))
    assert numbers_on(desk) == ["B", "A"]
    text = text_of(page)
    assert "Place 1 of 2" in text
    assert (
        "21.0 of 35.0 Risk if left. Long tear, severe, overall, recto: would go on if left." in text
    )


def test_each_line_opens_down_to_the_observation_that_caused_it(desk):
    row = work()
    seen = ObservationFactory(examination=row.examination, severity="severe", extent="overall")
    page = desk.get(reverse(QUEUE)).content.decode()
    path = reverse("desk:examination", args=[row.examination.pk])
    assert f'href="{path}#observation-{seen.pk}"' in page


def test_an_unsigned_examination_is_said_to_be_unsigned(desk):
    RecommendationFactory(examination=examined(signed=False))
    assert "Not yet signed" in text_of(desk.get(reverse(QUEUE)))


def test_a_newer_unsigned_examination_is_named(desk):
    row = work()
    examined(object=row.examination.object, signed=False, visit__person__first_name="Ines")
    assert "A newer examination by Ines" in text_of(desk.get(reverse(QUEUE)))


def test_filters_narrow_by_studio_kind_and_significance(desk):
    work(accession_number="1", studio=Object.Studio.PAPER, significance="high")
    work(accession_number="2", studio=Object.Studio.PHOTOGRAPHS, significance="low")
    work("rehouse", accession_number="3", significance="low")
    assert numbers_on(desk, studio="photographs") == ["2"]
    assert numbers_on(desk, kind="rehouse") == ["3"]
    assert numbers_on(desk, significance="high") == ["1"]
    assert numbers_on(desk, studio="paper", significance="low") == ["3"]


def test_a_location_filter_takes_all_that_it_holds(desk):
    drawer = location_chain("Port Ellery", "North store", "Room 1", "Cabinet 2")
    work(accession_number="in", location=drawer)
    work(accession_number="out")
    assert numbers_on(desk, place=str(drawer.parent.pk)) == ["in"]
    assert numbers_on(desk, place=str(drawer.parent.parent.parent.pk)) == ["in"]


def test_a_filter_by_weeks_takes_what_is_wanted_by_then(desk):
    today = timezone.localdate()
    soon = work(accession_number="soon")
    NeedFactory(object=soon.examination.object, due=today + timedelta(weeks=3))
    late = work(accession_number="late")
    NeedFactory(object=late.examination.object, due=today + timedelta(weeks=30))
    undated = work(accession_number="undated")
    NeedFactory(object=undated.examination.object, due=None)
    assert numbers_on(desk, weeks=4) == ["soon"]
    assert numbers_on(desk, weeks=40) == ["soon", "late"]


@pytest.mark.parametrize("words", ["HARBOUR", "crease wall", "northern", "B.77"])
def test_words_are_sought_in_the_entry_the_observations_and_the_needs(desk, words):
    found = work(accession_number="B.77", title="Harbour wall")
    ObservationFactory(examination=found.examination, term=TermFactory(name="Sharp crease"))
    NeedFactory(object=found.examination.object, title="Northern coasts")
    work(accession_number="other", title="Reeds")
    assert numbers_on(desk, text=words) == ["B.77"]


def test_a_row_keeps_its_place_when_filters_hide_those_before_it(desk):
    work(accession_number="first", grade="unstable", significance="high")
    work(accession_number="second", grade="fair", significance="low")
    page = desk.get(reverse(QUEUE), {"significance": "low"})
    assert "Place 2 of 2" in text_of(page)


def test_a_filter_that_is_not_understood_hides_nothing_and_is_said(desk):
    work(accession_number="1")
    page = desk.get(reverse(QUEUE), {"weeks": "soon", "studio": "paper"})
    assert numbers_on(desk, weeks="soon", studio="paper") == ["1"]
    assert "Enter a whole number." in text_of(page)


def test_no_match_is_told_apart_from_no_work(desk):
    assert "No work waits." in text_of(desk.get(reverse(QUEUE)))
    work()
    assert "No work passes these filters." in text_of(desk.get(reverse(QUEUE), {"text": "zzz"}))


def test_readiness_is_toggled_one_at_a_time(desk):
    row = work()
    path = reverse("desk:readiness", args=[row.pk])
    desk.post(path, {"space": ["yes"]})
    assert Readiness.objects.values_list("space", "materials").get() == (True, False)
    # As the page sends it: what is set already, and the button that was pressed.
    desk.post(path, {"space": ["yes"], "materials": ["yes"]})
    assert Readiness.objects.values_list("space", "materials").get() == (True, True)
    desk.post(path, {"space": ["yes", "no"], "materials": ["yes"]})
    assert Readiness.objects.values_list("space", "materials").get() == (False, True)


def test_toggles_say_their_state(desk):
    row = work()
    Readiness.objects.create(recommendation=row, space=True)
    page = desk.get(reverse(QUEUE)).content.decode()
    assert 'aria-pressed="true" name="space" value="no"' in page
    assert 'aria-pressed="false" name="materials" value="yes"' in page


def test_a_courier_reads_readiness_and_has_no_buttons(courier_desk):
    work()
    page = courier_desk.get(reverse(QUEUE))
    assert "No space yet. No materials yet." in text_of(page)
    assert "aria-pressed" not in page.content.decode()


def test_work_marked_done_leaves_and_can_come_back(desk):
    row = work(accession_number="1")
    desk.post(reverse("desk:done", args=[row.pk]), {"done": "yes"})
    assert numbers_on(desk) == []
    desk.post(reverse("desk:done", args=[row.pk]), {"done": "no"})
    assert numbers_on(desk) == ["1"]


def test_the_print_view_names_the_filters_the_date_and_shows_every_row(desk):
    for number in range(60):
        work(accession_number=f"{number:03d}")
    page = desk.get(reverse("desk:queue-print"), {"studio": "paper", "kind": "treat"})
    text = text_of(page)
    assert "Studio: Paper · Kind of work: Treat" in text
    assert f"{timezone.localtime():%B %Y}" in text
    assert "60 pieces of work" in text
    assert all(f"{number:03d}" in text for number in range(60))


def test_long_queues_are_paged_and_keep_their_filters(desk):
    for number in range(51):
        work(accession_number=f"{number:03d}")
    page = desk.get(reverse(QUEUE), {"studio": "paper"})
    assert "Page 1 of 2" in text_of(page)
    assert "?studio=paper&amp;page=2" in page.content.decode()
    assert len(numbers_on(desk, studio="paper", page=2)) == 1


@pytest.mark.parametrize("name", ["desk:queue", "desk:queue-print", "desk:act-now", "desk:home"])
def test_the_number_of_database_queries_stays_under_20_whatever_the_rows(
    desk, name, django_assert_max_num_queries
):
    flaking = TermFactory(hazards=["flaking-media"])
    for number in range(30):
        row = work()
        ObservationFactory(
            examination=row.examination, term=flaking if number % 3 == 0 else TermFactory()
        )
        PhotographFactory(examination=row.examination)
        NeedFactory(object=row.examination.object, due=timezone.localdate())
        examined(object=row.examination.object, signed=False)
        if number % 2:
            Readiness.objects.create(recommendation=row, space=True)
    with django_assert_max_num_queries(19):
        assert desk.get(reverse(name)).status_code == 200


def test_a_cleared_hazard_is_told_with_the_examination_that_cleared_it(desk):
    item = ObjectFactory(title="Harbour wall")
    ObservationFactory(examination=examined(30, object=item), term=TermFactory(hazards=["wet"]))
    examined(2, object=item, visit__person__first_name="Ines")
    page = text_of(desk.get(reverse("desk:act-now")))
    assert "Nothing that cannot wait." in page
    assert page.index("Cleared in the last 90 days") < page.index("Harbour wall")
    assert "Ines" in page
