"""Objects at the desk: search, the page, corrections, moves, needs and labels."""

from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from survey.sync.models import Change, StoredFile
from tests.desk.conftest import text_of
from tests.factories import (
    MoveFactory,
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


def page_of(client, item):
    return client.get(reverse("desk:object", args=[item.pk]))


def test_the_list_finds_by_words_and_says_how_many(desk):
    ObjectFactory(title="Harbour wall at low water")
    ObjectFactory(title="Reeds")
    page = text_of(desk.get(reverse("desk:objects"), {"text": "wall harbour"}))
    assert "1 object with “wall harbour”" in page
    assert "Harbour wall at low water" in page and "Reeds" not in page


def test_a_search_without_a_match_says_what_to_do(desk):
    assert "Try fewer or shorter ones" in text_of(
        desk.get(reverse("desk:objects"), {"text": "x y"})
    )


def test_the_list_is_paged_at_a_bounded_cost(desk, django_assert_max_num_queries):
    ObjectFactory.create_batch(55)
    with django_assert_max_num_queries(8):
        first = desk.get(reverse("desk:objects"))
    assert "Page 1 of 2" in text_of(first)
    assert len(desk.get(reverse("desk:objects"), {"page": 2}).context["page"]) == 5


def test_the_photographs_of_the_latest_signed_examination_come_first(desk):
    item = ObjectFactory()
    old = PhotographFactory(examination=examined(30, object=item))
    latest = examined(2, object=item)
    raking = PhotographFactory(examination=latest, light="raking", azimuth_deg=45)
    normal = PhotographFactory(examination=latest, light="normal")
    for one in (old, raking, normal):
        StoredFile.objects.create(sha256=one.sha256, size_bytes=1)
    page = page_of(desk, item).content.decode()
    assert old.sha256 not in page
    assert page.index(normal.sha256) < page.index(raking.sha256) < page.index("Recommended work")
    assert "Raking light from 45°, recto" in page
    assert "rotate(45 24 24)" in page


def test_a_photograph_that_has_not_arrived_is_said_to_be_on_the_tablet(desk):
    photograph = PhotographFactory(examination=examined())
    page = page_of(desk, photograph.examination.object)
    assert "Not yet sent from the tablet" in text_of(page)
    assert photograph.sha256 not in page.content.decode()


def test_a_photograph_that_cannot_be_shown_says_why_and_offers_the_file(desk):
    photograph = PhotographFactory(examination=examined())
    StoredFile.objects.create(
        sha256=photograph.sha256, size_bytes=1, facts={"trouble": "The file breaks off."}
    )
    page = page_of(desk, photograph.examination.object)
    assert "The file breaks off." in text_of(page)
    assert f"/api/photographs/{photograph.sha256}/original" in page.content.decode()


def test_a_mark_is_drawn_where_it_was_made_with_its_observations_number(desk):
    photograph = PhotographFactory(examination=examined(), width_px=1000, height_px=500)
    StoredFile.objects.create(sha256=photograph.sha256, size_bytes=1)
    ObservationFactory(
        examination=photograph.examination,
        mark={"photograph": str(photograph.pk), "x": 0.25, "y": 0.5},
    )
    page = page_of(desk, photograph.examination.object).content.decode()
    assert 'viewBox="0 0 1000 500"' in page
    assert '<circle class="ring" cx="250" cy="250" r="40"/>' in page
    assert 'aria-label="Marks of observations 1"' in page


def test_marks_that_lie_close_share_one_label_so_that_no_number_covers_another(desk):
    photograph = PhotographFactory(examination=examined(), width_px=1000, height_px=1000)
    StoredFile.objects.create(sha256=photograph.sha256, size_bytes=1)
    for x in (0.2, 0.21, 0.8):
        mark = {"photograph": str(photograph.pk), "x": x, "y": 0.5}
        ObservationFactory(examination=photograph.examination, mark=mark)
    page = page_of(desk, photograph.examination.object).content.decode()
    assert page.count('<circle class="ring"') == 3
    assert ">1, 2</text>" in page and ">3</text>" in page and page.count("</text>") == 2


def test_a_hazard_is_told_with_what_to_do_and_a_cleared_one_with_when(desk):
    item = ObjectFactory()
    ObservationFactory(examination=examined(300, object=item), term=TermFactory(hazards=["wet"]))
    latest = examined(2, object=item)
    ObservationFactory(examination=latest, term=TermFactory(hazards=["loose-parts"]))
    page = text_of(page_of(desk, item))
    assert "Put loose pieces in a labelled envelope" in page
    assert "Wet or damp: seen" in page and "cleared by the examination of" in page


def test_each_piece_of_work_says_its_place_in_its_queue(desk):
    first = RecommendationFactory(examination=examined(grade="unstable"))
    second = RecommendationFactory(examination=examined(grade="good"))
    assert "Place 1 of 2 in its queue" in text_of(page_of(desk, first.examination.object))
    assert "Place 2 of 2 in its queue" in text_of(page_of(desk, second.examination.object))


def test_done_work_stays_on_the_page_and_says_so(desk):
    work = RecommendationFactory(examination=examined())
    desk.post(reverse("desk:done", args=[work.pk]), {"done": "yes"})
    page = text_of(page_of(desk, work.examination.object))
    assert "Done" in page and "Not done after all" in page


def test_history_lists_examinations_and_moves_in_full(desk):
    drawer = location_chain("Port Ellery", "North store", "Room 1", "Cabinet 2")
    item = ObjectFactory(location=drawer)
    MoveFactory(object=item, to_location=drawer, from_place="Brackwater Hall", note="Back")
    examined(400, object=item, visit__name="Spring round")
    examined(3, object=item, visit__name="Autumn round", signed=False)
    page = text_of(page_of(desk, item))
    assert page.index("Autumn round Robin") < page.index("Spring round Robin")
    assert "Port Ellery › North store › Room 1 › Cabinet 2 Brackwater Hall" in page


def test_an_object_never_examined_says_so(desk):
    page = text_of(page_of(desk, ObjectFactory()))
    assert "Not examined yet." in page


def test_the_page_costs_the_same_for_much_as_for_little(desk, django_assert_max_num_queries):
    item = ObjectFactory()
    for days_ago in range(12):
        examination = examined(days_ago, object=item)
        for _ in range(4):
            ObservationFactory(examination=examination)
            PhotographFactory(examination=examination)
            RecommendationFactory(examination=examination)
        MoveFactory(object=item)
        NeedFactory(object=item)
    with django_assert_max_num_queries(45):
        page_of(desk, item)


def test_a_correction_is_logged_and_only_what_changed_is_sent(desk, conservator):
    item = ObjectFactory(title="Reeds", maker="Ottoline Marsh")
    path = reverse("desk:object-edit", args=[item.pk])
    form = desk.get(path).context["form"]
    values = {name: form[name].value() or "" for name in form.fields}
    answer = desk.post(path, values | {"title": "Reeds at dusk"})
    assert answer.status_code == 302
    item.refresh_from_db()
    assert item.title == "Reeds at dusk"
    change = Change.objects.get(entity="object", entity_id=str(item.pk))
    assert (change.fields, change.person) == ({"title": "Reeds at dusk"}, conservator)


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"width_mm": "0"}, "width_mm"),
        ({"title": ""}, "title"),
        ({"earliest_year": "1900", "latest_year": "1800"}, "latest_year"),
    ],
)
def test_a_wrong_correction_is_told_and_nothing_typed_is_lost(desk, wrong, field):
    item = ObjectFactory()
    path = reverse("desk:object-edit", args=[item.pk])
    form = desk.get(path).context["form"]
    values = {name: form[name].value() or "" for name in form.fields} | {"maker": "Leda Vost"}
    answer = desk.post(path, values | wrong)
    assert answer.status_code == 400
    assert answer.context["form"].errors[field] or answer.context["form"].errors["__all__"]
    assert "Leda Vost" in answer.content.decode()
    item.refresh_from_db()
    assert item.maker == "Ottoline Marsh"


def test_a_move_takes_the_object_along_and_names_who(desk, conservator):
    item = ObjectFactory()
    drawer = location_chain("Port Ellery", "North store")
    desk.post(
        reverse("desk:object-move", args=[item.pk]), {"to_location": str(drawer.pk), "note": "New"}
    )
    item.refresh_from_db()
    assert item.location == drawer
    assert item.moves.get().person == conservator


def test_a_move_to_nowhere_gets_a_sentence(desk):
    item = ObjectFactory()
    answer = desk.post(reverse("desk:object-move", args=[item.pk]), {})
    assert answer.status_code == 400
    assert answer.context["form"].errors
    assert not item.moves.exists()


def test_a_need_is_added_and_taken_away(desk):
    item = ObjectFactory()
    due = timezone.localdate() + timedelta(days=40)
    values = {"kind": "loan", "title": "Northern coasts", "due": due.isoformat()}
    desk.post(reverse("desk:need-add", args=[item.pk]), values)
    assert "Loan “Northern coasts”, by" in text_of(page_of(desk, item))
    desk.post(reverse("desk:need-remove", args=[item.needs.get().pk]))
    assert not item.needs.exists()


def test_a_wrong_need_keeps_what_was_typed(desk):
    item = ObjectFactory()
    values = {"kind": "loan", "title": "Northern coasts", "due": "soon"}
    answer = desk.post(reverse("desk:need-add", args=[item.pk]), values)
    assert answer.status_code == 400
    assert "Northern coasts" in answer.content.decode()
    assert not item.needs.exists()


def test_the_label_carries_the_accession_number_as_a_qr_code(desk):
    item = ObjectFactory(accession_number="PE.1987.12")
    page = desk.get(reverse("desk:label", args=[item.pk])).content.decode()
    assert "<svg" in page and "PE.1987.12" in page


def test_a_deleted_object_is_not_found(desk):
    item = ObjectFactory(deleted_at=timezone.now())
    assert page_of(desk, item).status_code == 404


def test_dates_read_as_a_person_writes_them(desk):
    need = NeedFactory(due=date(2031, 5, 3))
    assert "by 3 May 2031" in text_of(page_of(desk, need.object))
