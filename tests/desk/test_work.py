"""One piece of work at the desk: what its page says, and what can be done there, all by form."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from survey.triage import handing, placing, queries
from survey.triage.models import HandOver, Hold, Piece, Placement
from tests.desk.conftest import text_of
from tests.factories import (
    LocationFactory,
    ObjectFactory,
    ObservationFactory,
    PhotographFactory,
    RecommendationFactory,
    TermFactory,
    examined,
)

pytestmark = pytest.mark.django_db


def work(number: str, grade: str = "fair", kind: str = "treat", **values):
    item = ObjectFactory(accession_number=number, **values)
    return RecommendationFactory(examination=examined(object=item, grade=grade), kind_of_work=kind)


@pytest.fixture
def four():
    grades = zip("ABCD", ("unstable", "poor", "fair", "good"), strict=True)
    return [work(number, grade) for number, grade in grades]


def page_of(client, key):
    return text_of(client.get(reverse("desk:work", args=[key])))


def act(client, key, what: str, **given):
    return client.post(reverse("desk:act", args=[key, what]), given)


def order() -> list[str]:
    return [one.row.object.accession_number for one in queries.board().placed()]


def test_the_page_says_where_it_stands_and_how_firmly(desk, four):
    page = page_of(desk, four[0].pk)
    assert "Place 1 of 4" in page
    assert "Firm: place 1 under any weights within ±20 %." in page
    assert "Nothing yet: it stands as it was recommended" in page


def test_every_number_opens_down_to_its_observation_with_the_photograph(desk, four):
    examination = four[0].examination
    shot = PhotographFactory(examination=examination, light="raking", azimuth_deg=45)
    other = PhotographFactory(examination=examination, light="normal")
    seen = ObservationFactory(
        examination=examination,
        severity="severe",
        extent="overall",
        mark={"photograph": str(shot.pk), "x": 0.5, "y": 0.5},
    )
    evidence = desk.get(reverse("desk:work", args=[four[0].pk])).context["evidence"]
    assert evidence[str(seen.pk)].plate.photograph == shot
    assert evidence[str(seen.pk)].ring[:2] == (2000.0, 1500.0)
    page = desk.get(reverse("desk:work", args=[four[0].pk])).content.decode()
    path = reverse("desk:examination", args=[examination.pk])
    assert f'href="{path}#observation-{seen.pk}"' in page
    item = reverse("desk:object", args=[examination.object.pk])
    assert f'href="{item}#entry"' in page
    unmarked = ObservationFactory(examination=examination, lights=["normal"])
    evidence = desk.get(reverse("desk:work", args=[four[0].pk])).context["evidence"]
    assert evidence[str(unmarked.pk)].plate.photograph == other


def test_a_region_is_outlined_on_a_photograph_that_lies_on_the_sheet(desk, four):
    examination = four[0].examination
    PhotographFactory(examination=examination, homography=[0.1, 0, 0, 0, 0.1, 0, 0, 0, 1])
    region = {"kind": "polygon", "points": [[10, 10], [20, 10], [20, 30]]}
    seen = ObservationFactory(examination=examination, region=region)
    evidence = desk.get(reverse("desk:work", args=[four[0].pk])).context["evidence"]
    assert evidence[str(seen.pk)].outline == "100.0,100.0 200.0,100.0 200.0,300.0"


def test_work_is_moved_by_steps_and_by_number_with_a_reason(desk, four):
    answer = act(desk, four[3].pk, "move", step="up", reason="Wanted")
    assert answer.status_code == 302
    assert order() == ["A", "B", "D", "C"]
    act(desk, four[3].pk, "move", step="first", reason="Wanted")
    assert order() == ["D", "A", "B", "C"]
    act(desk, four[3].pk, "move", place="3", reason="Not so soon")
    assert order() == ["A", "B", "D", "C"]
    page = page_of(desk, four[3].pk)
    assert "Moved from place 1 to 3 by Wren Halloway" in page
    assert ": Not so soon" in page and "By the rule: place 4 of 4." in page
    act(desk, four[3].pk, "take-back")
    assert order() == ["A", "B", "C", "D"]


def test_the_queue_says_that_a_row_was_moved_and_where_the_rule_has_it(desk, four, conservator):
    placing.move(four[3].pk, person=conservator, place=1, reason="Wanted")
    page = text_of(desk.get(reverse("desk:queue")))
    assert "Moved from place 4 to 1 by Wren Halloway" in page
    assert "By the rule: place 4 of 4." in page


def test_what_is_refused_keeps_what_was_typed_and_says_why(desk, four):
    answer = act(desk, four[3].pk, "hold", until="2020-01-01", reason="No room")
    page = answer.content.decode()
    assert answer.status_code == 400
    assert "1 January 2020 is not after today" in text_of(answer)
    assert 'value="2020-01-01"' in page and 'value="No room"' in page
    answer = act(desk, four[3].pk, "hold", until="soon", reason="No room")
    assert "Give a day, as 2026-05-03." in text_of(answer)
    assert not Hold.objects.exists()


def test_a_script_is_answered_in_a_sentence(desk, four):
    path = reverse("desk:act", args=[four[3].pk, "move"])
    as_script = {"headers": {"Accept": "application/json"}}
    answer = desk.post(path, {"place": "9", "reason": "Wanted"}, **as_script)
    assert answer.status_code == 400
    assert answer.json() == {"problem": "This queue has places 1 to 4. Give one of these."}
    answer = desk.post(path, {"place": "2", "reason": "Wanted"}, **as_script)
    assert (answer.status_code, answer.json()) == (200, {"said": "Moved to place 2."})


def test_work_is_held_until_other_work_is_done_and_released(desk, four):
    until = timezone.localdate() + timedelta(days=9)
    act(desk, four[0].pk, "hold", until=until.isoformat(), after=str(four[1].pk), reason="After B")
    assert order() == ["B", "C", "D"]
    page = page_of(desk, four[0].pk)
    assert "Held until B, treat, is done; expected by" in page
    held = text_of(desk.get(reverse("desk:queue"), {"held": "yes"}))
    assert "1 piece of work held" in held and "After B" in held
    answer = act(
        desk, four[1].pk, "hold", until=until.isoformat(), after=str(four[0].pk), reason="After A"
    )
    assert "B, treat, waits for A, treat, waits for B, treat" in text_of(answer)
    act(desk, four[0].pk, "release")
    assert order() == ["A", "B", "C", "D"]


def test_work_is_split_and_put_together(desk, four):
    given = {"words-1": "Test", "hours-1": "1", "words-2": "Wash", "hours-2": "2,5"}
    answer = act(desk, four[1].pk, "split", **given)
    assert "Part 2: hours are a number, as 2.5." in text_of(answer)
    act(desk, four[1].pk, "split", **given | {"hours-2": "2.5"})
    parts = list(Piece.objects.filter(form="part").order_by("order"))
    assert [(part.words, part.hours) for part in parts] == [("Test", 1.0), ("Wash", 2.5)]
    page = page_of(desk, parts[1].pk)
    assert "Treat, part 2" in page and "2.5 h estimated" in page
    answer = desk.post(reverse("desk:done", args=[parts[0].pk]), {"done": "yes"}, follow=True)
    assert Piece.objects.get(pk=parts[0].pk).done_at is not None
    act(desk, parts[1].pk, "put-together")
    assert "Part 1 marked done" in page_of(desk, four[1].pk)


def test_one_line_alone_is_no_split(desk, four):
    answer = act(desk, four[1].pk, "split", **{"words-1": "Test"})
    assert "fill in at least two lines" in text_of(answer)


def test_work_of_one_box_is_done_as_one_and_taken_apart(desk):
    box = LocationFactory()
    one, other = work("A", location=box), work("B", location=box)
    assert "Do as one with other work" in page_of(desk, one.pk)
    act(desk, one.pk, "merge", with_work=[str(other.pk)], words="Both in one go")
    bundle = Piece.objects.get(form="bundle")
    page = page_of(desk, bundle.pk)
    assert "Both in one go" in page and "Done together with B" in page
    queue = text_of(desk.get(reverse("desk:queue")))
    assert "1 piece of work" in queue and "8 h estimated" in queue
    act(desk, bundle.pk, "take-apart")
    assert order() == ["A", "B"]


def test_work_is_handed_over_accepted_and_sent_back(head_desk, desk, four, conservator):
    to = f"person-{conservator.pk}"
    answer = act(head_desk, four[0].pk, "hand-over", to="", reason="You know inks")
    assert "Choose a person or a studio." in text_of(answer)
    act(head_desk, four[0].pk, "hand-over", to=to, reason="You know inks")
    page = page_of(desk, four[0].pk)
    assert "Offered to Wren Halloway" in page and "Accept" in page
    act(desk, four[0].pk, "accept")
    assert "With Wren Halloway" in text_of(desk.get(reverse("desk:queue")))
    act(desk, four[0].pk, "send-back", answer="Away until June")
    assert "Sent back by Wren Halloway" in page_of(head_desk, four[0].pk)
    act(head_desk, four[0].pk, "end-hand-over")
    assert not HandOver.objects.filter(ended_at=None).exists()


def test_somebody_elses_answer_is_not_offered(desk, four, head):
    handing.hand_over(four[0].pk, person=head, to_person=head, reason="Mine")
    assert "Why it goes back" not in page_of(desk, four[0].pk)
    assert act(desk, four[0].pk, "send-back", answer="No").status_code == 403


def test_a_piece_that_is_no_longer_open_is_told_so(desk, four):
    desk.post(reverse("desk:done", args=[four[0].pk]), {"done": "yes"})
    answer = desk.get(reverse("desk:work", args=[four[0].pk]))
    assert answer.status_code == 404
    assert "no longer open" in text_of(answer)
    answer = act(desk, four[0].pk, "move", step="up", reason="Wanted")
    assert answer.status_code == 400
    assert "no longer open" in text_of(answer)


def test_what_cannot_wait_is_handed_over_but_neither_moved_nor_held(desk, four, conservator):
    ObservationFactory(examination=four[0].examination, term=TermFactory(hazards=["wet"]))
    page = page_of(desk, four[0].pk)
    assert "The object cannot wait" in page
    assert "Into another queue" not in page and "Comes back on" not in page
    act(desk, four[0].pk, "hand-over", to=f"person-{conservator.pk}", reason="Today")
    assert "With Wren Halloway" in text_of(desk.get(reverse("desk:act-now")))


def test_the_objects_page_says_where_each_part_stands(desk, four, conservator):
    given = {"words-1": "Test", "words-2": "Wash"}
    act(desk, four[1].pk, "split", **given)
    page = text_of(desk.get(reverse("desk:object", args=[four[1].examination.object.pk])))
    assert "Place 2 of 5" in page and "Place 3 of 5" in page
    assert "Test" in page and "Wash" in page


def test_a_courier_reads_the_page_and_can_do_nothing_there(courier_desk, four):
    page = courier_desk.get(reverse("desk:work", args=[four[0].pk])).content.decode()
    assert 'method="post"' not in page.split('id="matter"')[1]
    for what, given in {
        "move": {"step": "up", "reason": "Mine"},
        "take-back": {},
        "hold": {"until": "2099-01-01", "reason": "Mine"},
        "release": {},
        "split": {"words-1": "One", "words-2": "Two"},
        "put-together": {},
        "merge": {"with_work": [str(four[1].pk)]},
        "take-apart": {},
        "accept": {},
        "send-back": {"answer": "No"},
        "end-hand-over": {},
    }.items():
        assert act(courier_desk, four[0].pk, what, **given).status_code == 403, what
    assert not Placement.objects.exists() and not Piece.objects.exists()


def test_an_act_that_there_is_not_is_not_found(desk, four):
    assert act(desk, four[0].pk, "polish").status_code == 404


@pytest.mark.parametrize("rows", [5, 40])
def test_the_page_costs_the_same_for_many_rows(desk, rows, django_assert_max_num_queries):
    for number in range(rows):
        first = work(f"{number:03d}")
        ObservationFactory(examination=first.examination)
        PhotographFactory(examination=first.examination)
    with django_assert_max_num_queries(25):
        assert desk.get(reverse("desk:work", args=[first.pk])).status_code == 200
