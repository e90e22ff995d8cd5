"""Queues at the desk: order with reasons, filters, toggles, paper, and a bounded cost."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from survey.catalogue.models import Location, Object
from survey.examination.models import Recommendation
from survey.triage import handing, holding
from survey.triage.models import HandOver, Hold, Piece, Placement, Readiness, SavedFilter
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
    assert "Give a whole number." in text_of(page)


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


@pytest.fixture
def busy_week(conservator, head):
    """Makes so many rows, with all that people do with work."""

    def make(rows: int) -> None:
        flaking, tear = TermFactory(hazards=["flaking-media"]), TermFactory()
        until = timezone.localdate() + timedelta(days=9)
        pieces = []
        for number in range(rows):
            row = work(grade="good" if number % 2 else "poor")
            is_urgent = number % 10 == 0
            ObservationFactory(examination=row.examination, term=flaking if is_urgent else tear)
            PhotographFactory(examination=row.examination)
            NeedFactory(object=row.examination.object, due=timezone.localdate())
            examined(object=row.examination.object, signed=False)
            if number % 2:
                Readiness.objects.create(recommendation=row, space=True)
            piece = Piece.objects.create(pk=row.pk, form="whole", made_by=head)
            piece.recommendations.add(row)
            pieces.append(piece)
        for number, piece in enumerate(pieces):
            queue = {"studio": "paper", "kind_of_work": "treat", "from_studio": "paper"}
            if number % 5 == 1:
                Placement.objects.create(
                    piece=piece, by=head, reason="Wanted", place=number, from_place=1,
                    from_kind_of_work="treat", **queue,
                )  # fmt: skip
            if number % 5 == 2:
                after = pieces[number - 1] if number % 2 else None
                Hold.objects.create(
                    piece=piece, by=head, reason="No room", until=until, after=after
                )
            if number % 5 == 3:
                HandOver.objects.create(
                    piece=piece, by=head, to_person=conservator, reason="You", state="accepted"
                )
            if number % 5 == 4:
                for order in (1, 2):
                    part = Piece.objects.create(
                        form="part", words=f"Part {order}", order=order, made_by=head
                    )
                    part.recommendations.set(piece.recommendations.all())

    return make


@pytest.mark.parametrize("rows", [5, 200])
def test_the_number_of_database_queries_stays_under_20_whatever_the_rows(
    desk, busy_week, rows, django_assert_max_num_queries
):
    busy_week(rows)
    place = str(Location.objects.first().pk)
    for name, filters in [
        ("desk:queue", {}),
        ("desk:queue", {"held": "yes"}),
        ("desk:queue", {"hazard": "any"}),
        ("desk:queue", {"place": place, "text": "own", "weeks": 4}),
        ("desk:queue-print", {}),
        ("desk:queue-table", {}),
        ("desk:queue-counts", {}),
        ("desk:act-now", {}),
    ]:
        with django_assert_max_num_queries(19, info=f"{name} {filters}"):
            assert desk.get(reverse(name), filters).status_code == 200


def test_filters_narrow_by_grade_hours_and_person(desk, head, conservator):
    first = work(grade="poor", accession_number="1")
    second = work(grade="fair", accession_number="2")
    Recommendation.objects.filter(pk=second.pk).update(hours=None)
    work(grade="", accession_number="3")
    handing.hand_over(first.pk, person=head, to_person=conservator, reason="You know inks")
    assert numbers_on(desk, grade="poor") == ["1"]
    assert numbers_on(desk, grade="none") == ["3"]
    assert numbers_on(desk, hours="none") == ["2"]
    assert sorted(numbers_on(desk, hours="set")) == ["1", "3"]
    assert numbers_on(desk, person=conservator.pk) == ["1"]
    assert sorted(numbers_on(desk, person="nobody")) == ["2", "3"]


def test_a_filter_by_day_takes_what_is_needed_before_it(desk):
    today = timezone.localdate()
    for number, days in (("soon", 10), ("late", 30)):
        row = work(accession_number=number)
        NeedFactory(object=row.examination.object, due=today + timedelta(days=days))
    assert numbers_on(desk, due=(today + timedelta(days=30)).isoformat()) == ["soon"]
    page = desk.get(reverse(QUEUE), {"due": "soon"})
    assert "Give a day, as 2026-05-03." in text_of(page)


def test_a_filter_by_hazard_shows_what_cannot_wait_and_no_queue(desk):
    wet = work(accession_number="wet", title="Harbour wall")
    ObservationFactory(examination=wet.examination, term=TermFactory(hazards=["wet"]))
    mould = work("isolate", accession_number="mould", title="Reeds")
    ObservationFactory(examination=mould.examination, term=TermFactory(hazards=["active-mould"]))
    work(accession_number="dry", title="Dunes")
    page = text_of(desk.get(reverse(QUEUE), {"hazard": "wet"}))
    assert "1 object that cannot wait" in page and "Harbour wall" in page
    assert "Reeds" not in page and "Dunes" not in page
    page = text_of(desk.get(reverse(QUEUE), {"hazard": "any", "kind": "isolate"}))
    assert "Reeds" in page and "Harbour wall" not in page


def test_held_work_is_shown_where_it_is_asked_for(desk, head):
    row = work(accession_number="1", title="Harbour wall")
    until = timezone.localdate() + timedelta(days=9)
    holding.hold(row.pk, person=head, reason="The press is lent out", until=until)
    assert "Harbour wall" not in text_of(desk.get(reverse(QUEUE)))
    page = text_of(desk.get(reverse(QUEUE), {"held": "yes", "studio": "paper"}))
    assert "1 piece of work held" in page and "The press is lent out" in page
    assert "Harbour wall" not in text_of(
        desk.get(reverse(QUEUE), {"held": "yes", "studio": "objects"})
    )
    printed = text_of(desk.get(reverse("desk:queue-print"), {"held": "yes"}))
    assert "The press is lent out" in printed


def test_paper_begins_with_act_now_and_ends_with_what_is_held(desk, head):
    work(accession_number="1", title="Reeds")
    held, wet = work(title="Harbour wall"), work(title="Ferry steps")
    until = timezone.localdate() + timedelta(days=9)
    holding.hold(held.pk, person=head, reason="The press is lent out", until=until)
    ObservationFactory(examination=wet.examination, term=TermFactory(hazards=["wet"]))
    printed = text_of(desk.get(reverse("desk:queue-print")))
    places = [printed.index(title) for title in ("Ferry steps", "Reeds", "Harbour wall")]
    assert places == sorted(places)
    assert "3 pieces of work" in printed and "Act now" in printed
    assert "The press is lent out" in printed and f"{until.day} {until:%B %Y}" in printed


def test_each_row_says_how_firmly_it_stands(desk):
    for number, grade in enumerate(["unstable", *["fair"] * 3]):
        work(grade=grade, accession_number=str(number))
    page = text_of(desk.get(reverse(QUEUE)))
    assert "Firm: place 1 , weights ±20 %" in page
    assert "Firm: place 1 under any weights within ±20 %." in page
    printed = text_of(desk.get(reverse("desk:queue-print")))
    assert "Firm: place 1 under any weights within ±20 %." in printed


def test_counts_are_told_for_pages_that_stand_open(desk, head):
    row = work()
    work("rehouse")
    ObservationFactory(examination=work().examination, term=TermFactory(hazards=["wet"]))
    path = reverse("desk:queue-counts")
    assert desk.get(path).json() == {
        "act-now": 1, "paper/treat": 1, "paper/rehouse": 1, "held": 0,
    }  # fmt: skip
    until = timezone.localdate() + timedelta(days=9)
    holding.hold(row.pk, person=head, reason="No room", until=until)
    assert desk.get(path).json() == {"act-now": 1, "paper/rehouse": 1, "held": 1}


def test_a_filter_is_kept_under_a_name_and_used_again(desk):
    work(grade="poor", accession_number="1")
    work(grade="fair", accession_number="2")
    answer = desk.post(
        reverse("desk:filter-keep"),
        {"query": "studio=paper&grade=poor&page=3&other=1", "name": "  Poor   paper "},
    )
    assert answer["Location"] == f"{reverse(QUEUE)}?studio=paper&grade=poor"
    saved = SavedFilter.objects.get()
    assert (saved.name, saved.query, saved.is_shared) == (
        "Poor paper", "studio=paper&grade=poor", False,
    )  # fmt: skip
    page = desk.get(reverse(QUEUE)).content.decode()
    assert f'href="{reverse(QUEUE)}?studio=paper&amp;grade=poor"' in page
    assert numbers_on(desk, studio="paper", grade="poor") == ["1"]


def test_the_same_name_again_replaces_what_it_held(desk):
    for query in ("studio=paper", "studio=objects"):
        desk.post(reverse("desk:filter-keep"), {"query": query, "name": "Mine"})
    assert SavedFilter.objects.get().query == "studio=objects"


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"query": "studio=paper", "name": " "}, "Give the filter a name to find it by."),
        ({"query": "", "name": "All"}, "No filter is set, so there is nothing to keep."),
        ({"query": "studio=paper", "name": "x" * 61}, "at most 60 characters"),
    ],
)
def test_a_filter_that_says_nothing_is_not_kept(desk, given, words):
    answer = desk.post(reverse("desk:filter-keep"), given, follow=True)
    assert words in text_of(answer)
    assert not SavedFilter.objects.exists()


def test_shared_filters_are_the_departments_and_others_are_ones_own(desk, head_desk, courier_desk):
    keep = reverse("desk:filter-keep")
    desk.post(keep, {"query": "studio=paper", "name": "For all", "shared": "yes"})
    desk.post(keep, {"query": "studio=objects", "name": "For me"})
    page = text_of(head_desk.get(reverse(QUEUE)))
    assert "For all by Wren Halloway" in page and "For me" not in page
    given = {"query": "studio=paper", "name": "Mine", "shared": "yes"}
    assert courier_desk.post(keep, given).status_code == 403
    shared, own = SavedFilter.objects.order_by("name")
    assert courier_desk.post(reverse("desk:filter-drop", args=[shared.pk])).status_code == 403
    assert head_desk.post(reverse("desk:filter-drop", args=[own.pk])).status_code == 403
    head_desk.post(reverse("desk:filter-drop", args=[shared.pk]))
    desk.post(reverse("desk:filter-drop", args=[own.pk]))
    assert not SavedFilter.objects.exists()


def test_a_cleared_hazard_is_told_with_the_examination_that_cleared_it(desk):
    item = ObjectFactory(title="Harbour wall")
    ObservationFactory(examination=examined(30, object=item), term=TermFactory(hazards=["wet"]))
    examined(2, object=item, visit__person__first_name="Ines")
    page = text_of(desk.get(reverse("desk:act-now")))
    assert "Nothing that cannot wait." in page
    assert page.index("Cleared in the last 90 days") < page.index("Harbour wall")
    assert "Ines" in page
