"""Two people, one field: the later clock is shown, the other kept, and a person settles it."""

from typing import Any

import pytest
from django.test import Client
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from survey.examination.models import Examination
from survey.ids import new_id
from survey.sync import services
from survey.sync.conflict import value_of
from survey.sync.models import Change, FieldState, OpenQuestion
from tests.factories import DeviceFactory, ExaminationFactory, PersonFactory
from tests.sync.wire import Tablet, at, two_tablets

pytestmark = pytest.mark.django_db


def open_questions(**of_record: str) -> list[tuple[Any, Any]]:
    """What each open question shows, and what it keeps."""
    questions = OpenQuestion.objects.filter(settled_at=None, **of_record)
    return [
        (value_of(question.shown, question.field), value_of(question.kept, question.field))
        for question in questions.order_by("id")
    ]


def test_different_fields_both_stand() -> None:
    first, second = two_tablets()
    first.push({"note": "damp"}, 1)
    assert second.push({"place": "Cellar"}, 2).outcome == "applied"
    assert (first.visit().note, first.visit().place) == ("damp", "Cellar")
    assert open_questions() == []


def test_the_later_clock_is_shown_and_the_other_kept() -> None:
    first, second = two_tablets()
    first.push({"note": "damp"}, 1)
    change = second.push({"note": "dry"}, 2)
    assert change.outcome == "question"
    assert first.visit().note == "dry"
    assert open_questions() == [("dry", "damp")]


def test_the_earlier_clock_is_kept_even_if_it_arrives_last() -> None:
    first, second = two_tablets()
    first.push({"note": "dry"}, 2)
    change = second.push({"note": "damp"}, 1)
    assert change.outcome == "question"
    assert first.visit().note == "dry"
    assert first.visit().revision == change.number  # so that everybody pulls the question
    assert open_questions() == [("dry", "damp")]


def test_the_fields_in_doubt_hold_up_no_other_field_of_the_change() -> None:
    first, second = two_tablets()
    first.push({"note": "dry"}, 2)
    second.push({"note": "damp", "place": "Cellar"}, 1)
    assert (first.visit().note, first.visit().place) == ("dry", "Cellar")


def test_the_same_word_from_both_is_no_question() -> None:
    first, second = two_tablets()
    first.push({"note": "damp"}, 1)
    assert second.push({"note": "damp"}, 2).outcome == "applied"
    assert open_questions() == []


def test_whoever_saw_the_value_may_change_it() -> None:
    first, second = two_tablets()
    first.push({"note": "damp"}, 1)
    second.catch_up()
    assert second.push({"note": "dry"}, 2).outcome == "applied"
    assert open_questions() == []


def test_one_device_never_quarrels_with_itself() -> None:
    first, _ = two_tablets()
    for second in range(4):
        assert first.push({"note": f"note {second}"}, second).outcome == "applied"
    assert first.visit().note == "note 3"


def test_the_same_person_on_two_devices_is_asked() -> None:
    first, second = two_tablets()
    second.device = DeviceFactory(person=first.device.person)
    first.push({"note": "damp"}, 1)
    assert second.push({"note": "dry"}, 2).outcome == "question"


def test_a_newer_word_from_the_kept_side_replaces_the_kept_one() -> None:
    first, second = two_tablets()
    first.push({"note": "dry"}, 10)
    second.push({"note": "damp"}, 1)
    second.push({"note": "damp and cold"}, 2)
    assert open_questions() == [("dry", "damp and cold")]


def test_the_kept_side_is_shown_once_its_clock_is_the_later() -> None:
    first, second = two_tablets()
    first.push({"note": "dry"}, 10)
    second.push({"note": "damp"}, 1)
    second.push({"note": "wet"}, 11)
    assert first.visit().note == "wet"
    assert open_questions() == [("wet", "dry")]


def test_the_question_ends_when_the_kept_side_agrees() -> None:
    first, second = two_tablets()
    first.push({"note": "dry"}, 10)
    second.push({"note": "damp"}, 1)
    second.push({"note": "dry"}, 2)
    assert open_questions() == []
    assert OpenQuestion.objects.get().settled_by == second.device.person


def test_the_question_ends_when_the_kept_side_has_seen_it_and_writes_anew() -> None:
    first, second = two_tablets()
    first.push({"note": "dry"}, 10)
    second.push({"note": "damp"}, 1)
    second.catch_up()
    second.push({"note": "dry above, damp below"}, 12)
    assert first.visit().note == "dry above, damp below"
    assert open_questions() == []


def test_the_question_stays_when_somebody_else_goes_on_writing() -> None:
    first, second = two_tablets()
    first.push({"note": "dry"}, 10)
    second.push({"note": "damp"}, 1)
    first.catch_up()
    first.push({"note": "quite dry"}, 12)
    assert open_questions() == [("quite dry", "damp")]


def test_a_second_deletion_is_not_weighed_against_what_the_first_one_knew() -> None:
    first, second = two_tablets()
    third = Tablet(visit_id=first.visit_id)
    first.push({"note": "damp"}, 3)
    second.catch_up()
    second.push({"deleted": True}, 2)  # Its clock is behind, but it saw the note.
    third.push({"deleted": True}, 1)
    assert first.visit().deleted_at is not None
    assert open_questions() == []
    state = FieldState.objects.get(entity_id=str(first.visit_id), field="deleted")
    assert value_of(state.change, "deleted") is True


def test_an_earlier_word_that_brings_a_record_back_is_kept_and_not_shown() -> None:
    first, second = two_tablets()
    first.push({"note": "damp"}, 3)
    first.push({"deleted": True}, 1)  # Its clock was set back meanwhile.
    second.push({"note": "dry"}, 2)
    assert (first.visit().deleted_at, first.visit().note) == (None, "damp")
    assert set(open_questions()) == {("damp", "dry"), (False, True)}


def test_three_words_leave_two_questions() -> None:
    first, second = two_tablets()
    third = Tablet(first.visit_id, base=first.base)
    first.push({"note": "dry"}, 1)
    second.push({"note": "damp"}, 3)
    third.push({"note": "wet"}, 2)
    assert first.visit().note == "damp"
    assert open_questions() == [("damp", "dry"), ("damp", "wet")]


def test_an_edit_at_the_desk_is_another_persons_word() -> None:
    first, _ = two_tablets()
    services.record_change("visit", first.visit(), {"note": "from the desk"}, PersonFactory())
    assert first.push({"note": "from the store"}, 1).outcome == "question"


def test_a_base_from_a_lost_future_counts_as_not_seen() -> None:
    first, second = two_tablets()
    first.push({"note": "damp"}, 1)
    second.base = 10**9
    assert second.push({"note": "dry"}, 2).outcome == "question"


# Deletion is weighed as a field that every change speaks of.


def test_a_change_by_someone_who_knew_of_no_deletion_restores_and_asks() -> None:
    first, second = two_tablets()
    first.push({"deleted": True}, 1)
    change = second.push({"note": "still needed"}, 2)
    assert change.outcome == "question"
    assert (first.visit().deleted_at, first.visit().note) == (None, "still needed")
    assert open_questions() == [(False, True)]


def test_an_earlier_change_that_comes_late_is_kept_beside_the_deletion() -> None:
    first, second = two_tablets()
    first.push({"deleted": True}, 2)
    assert second.push({"note": "still needed"}, 1).outcome == "question"
    assert first.visit().deleted_at is not None
    assert first.visit().note == "still needed"
    assert open_questions() == [(True, False)]


@pytest.mark.parametrize(("second_of_edit", "is_deleted"), [(1, True), (3, False)])
def test_a_deletion_that_comes_after_an_unseen_change_asks(
    second_of_edit: int, is_deleted: bool
) -> None:
    first, second = two_tablets()
    second.push({"note": "still needed"}, second_of_edit)
    assert first.push({"deleted": True}, 2).outcome == "question"
    assert (first.visit().deleted_at is not None) == is_deleted
    assert open_questions() == [(is_deleted, not is_deleted)]


def test_a_deletion_by_someone_who_saw_everything_asks_nothing() -> None:
    first, second = two_tablets()
    second.push({"note": "not needed"}, 1)
    first.catch_up()
    assert first.push({"deleted": True}, 2).outcome == "applied"


def test_two_deletions_agree() -> None:
    first, second = two_tablets()
    first.push({"deleted": True}, 1)
    assert second.push({"deleted": True}, 2).outcome == "applied"
    assert open_questions() == []


# In whatever order tablets come back, the record ends the same.

WORDS = {"note": ["", "damp", "dry"], "place": ["Cellar", "Attic"], "name": ["Round", "Walk"]}
quietly = settings(max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture])


@quietly
@given(st.data())
def test_independent_fields_converge_in_any_order(data: st.DataObject) -> None:
    """Each tablet has a field of its own; its changes arrive in its order, mixed with others'."""
    scripts = {
        field: data.draw(st.lists(st.sampled_from(words), min_size=1, max_size=3))
        for field, words in WORDS.items()
    }
    order = data.draw(st.permutations([field for field in scripts for _ in scripts[field]]))
    first, second = two_tablets()
    third = Tablet(first.visit_id, base=first.base)
    tablets = dict(zip(scripts, (first, second, third), strict=True))
    waiting = {field: list(words) for field, words in scripts.items()}
    for field in order:
        word = waiting[field].pop(0)
        assert tablets[field].push({field: word}, len(waiting[field])).outcome == "applied"
    visit = first.visit()
    assert {field: getattr(visit, field) for field in WORDS} == {
        field: words[-1] for field, words in scripts.items()
    }


@quietly
@given(
    st.lists(st.integers(1, 30), min_size=1, max_size=3, unique=True).map(sorted),
    st.lists(st.integers(1, 30), min_size=1, max_size=3, unique=True).map(sorted),
    st.data(),
)
def test_one_field_shows_the_latest_word_and_keeps_the_other_sides(
    odd: list[int], even: list[int], data: st.DataObject
) -> None:
    """Two tablets write one field, each word another, neither pulling."""
    # Times of both in one row, so that no two words have the same moment.
    times = [[2 * time + 1 for time in odd], [2 * time for time in even]]
    kept, shown = sorted(side[-1] for side in times)
    tablets = two_tablets()
    for which in data.draw(st.permutations([0] * len(odd) + [1] * len(even))):
        time = times[which].pop(0)
        tablets[which].push({"note": f"word {time}"}, time)
    assert tablets[0].visit().note == f"word {shown}"
    of_visit = open_questions(entity_id=str(tablets[0].visit_id))
    assert of_visit == [(f"word {shown}", f"word {kept}")]


# A person settles it: a change that answers the question, made with or without a network.


@pytest.fixture
def asked() -> Tablet:
    """A tablet that has seen an open question on a visit: "dry" is shown, "damp" kept."""
    first, second = two_tablets()
    first.push({"note": "dry"}, 2)
    second.push({"note": "damp"}, 1)
    return another_tablet(first)


def another_tablet(first: Tablet) -> Tablet:
    """One that has just pulled the visit."""
    other = Tablet(first.visit_id)
    other.catch_up()
    return other


def answer(tablet: Tablet, value: Any, second: float = 10, **other: Any) -> Change:
    """Answer the first question asked."""
    key = OpenQuestion.objects.earliest("asked_at").pk
    return tablet.push({"note": value}, second, **({"settles": key} | other))


@pytest.mark.parametrize("note", ["dry", "damp", "dry above, damp below"])
def test_settling_is_a_logged_change(asked: Tablet, note: str) -> None:
    before = asked.visit().revision
    change = answer(asked, note)
    assert (change.outcome, change.number) == ("applied", before + 1)
    assert (asked.visit().note, asked.visit().revision) == (note, before + 1)
    assert OpenQuestion.objects.get().settled_by == asked.device.person
    assert open_questions() == []


def test_an_answer_comes_over_the_wire_and_twice_does_nothing_more(
    client: Client, asked: Tablet
) -> None:
    device = DeviceFactory(token="settler")
    sent = {
        "id": str(new_id()),
        "entity": "visit",
        "entity_id": str(asked.visit_id),
        "fields": {"note": "damp"},
        "base": asked.base,
        "at": at(10, device),
        "settles": str(OpenQuestion.objects.get().pk),
    }
    for _ in range(2):
        said = client.post(
            "/api/sync/push",
            {"changes": [sent]},
            "application/json",
            headers={"Authorization": "Device settler"},
        ).json()["results"]
        assert [result["outcome"] for result in said] == ["applied"]
    assert (asked.visit().note, asked.visit().revision) == ("damp", asked.base + 1)
    assert open_questions() == []


def test_a_settled_question_keeps_both_words(asked: Tablet) -> None:
    answer(asked, "neither")
    question = OpenQuestion.objects.get()
    assert [value_of(side, "note") for side in (question.shown, question.kept)] == ["dry", "damp"]


def test_giving_the_same_answer_as_somebody_else_is_no_trouble(asked: Tablet) -> None:
    other = another_tablet(asked)
    answer(asked, "damp", 10)
    assert answer(other, "damp", 11).outcome == "applied"
    assert open_questions() == []


def test_another_answer_than_the_one_given_meanwhile_is_asked_about_anew(asked: Tablet) -> None:
    other = another_tablet(asked)
    answer(asked, "damp", 10)
    assert answer(other, "wet", 9).outcome == "question"
    assert asked.visit().note == "damp"
    assert open_questions() == [("damp", "wet")]


def test_a_word_that_the_answer_did_not_know_of_is_asked_about_anew(asked: Tablet) -> None:
    writer = another_tablet(asked)
    writer.push({"note": "soaked"}, 9)
    assert answer(asked, "damp", 10).outcome == "question"
    assert open_questions() == [("damp", "soaked")]


def test_an_answer_leaves_other_questions_on_the_field_open() -> None:
    first, second = two_tablets()
    third = Tablet(first.visit_id, base=first.base)
    first.push({"note": "dry"}, 1)
    second.push({"note": "damp"}, 3)
    third.push({"note": "wet"}, 2)
    answer(another_tablet(first), "damp")
    assert open_questions() == [("damp", "wet")]


def test_other_fields_may_go_with_an_answer(asked: Tablet) -> None:
    key = OpenQuestion.objects.get().pk
    asked.push({"note": "damp", "place": "Cellar"}, 10, settles=key)
    assert (asked.visit().note, asked.visit().place) == ("damp", "Cellar")


def test_a_value_that_the_record_does_not_take_settles_nothing(asked: Tablet) -> None:
    change = answer(asked, ["a", "list"])
    assert change.outcome == "refused"
    assert "note" in change.reasons
    assert open_questions() == [("dry", "damp")]


def test_an_answer_to_another_question_is_refused(asked: Tablet) -> None:
    for wrong in (
        answer(asked, "damp", settles=new_id()),
        asked.push({"place": "Cellar"}, 10, settles=OpenQuestion.objects.get().pk),
        answer(another_tablet(two_tablets()[0]), "damp"),
    ):
        assert wrong.outcome == "refused"
        assert "not one about this field of this record" in wrong.reasons[""]
    assert open_questions() == [("dry", "damp")]


def test_the_desk_is_told_of_an_answer_given_meanwhile(asked: Tablet) -> None:
    question = OpenQuestion.objects.get()
    answer(asked, "damp")
    services.settle(question, "damp", PersonFactory())
    with pytest.raises(services.AlreadySettled):
        services.settle(question, "wet", PersonFactory())
    assert asked.visit().note == "damp"


def test_a_question_on_a_signed_examination_can_only_let_the_record_stand() -> None:
    examination = ExaminationFactory(nothing_seen=True)
    services.log_many("examination", [examination], None)
    of_it = {"entity": "examination", "entity_id": str(examination.pk)}
    first, second = Tablet(base=examination.revision), Tablet(base=examination.revision)
    first.push({"notes": "dry"}, 2, **of_it)
    second.push({"notes": "damp"}, 1, **of_it)
    Examination.objects.update(signed_at="2026-01-01T00:00Z", signed_name="Wren Vale")
    key = OpenQuestion.objects.get().pk
    other = first.push({"notes": "damp"}, 3, settles=key, base=10**6, **of_it)
    assert "Add an amendment instead" in other.reasons["notes"]
    more = first.push({"notes": "dry", "grade": "poor"}, 4, settles=key, base=10**6, **of_it)
    assert more.outcome == "refused"
    assert open_questions() == [("dry", "damp")]
    assert first.push({"notes": "dry"}, 5, settles=key, **of_it).outcome == "applied"
    assert open_questions() == []
    examination.refresh_from_db()
    assert (examination.notes, examination.grade) == ("dry", "fair")


@pytest.mark.parametrize("is_deleted", [True, False])
def test_whether_a_record_is_deleted_is_settled_like_any_field(is_deleted: bool) -> None:
    first, second = two_tablets()
    first.push({"deleted": True}, 2)
    second.push({"note": "still needed"}, 1)
    key = OpenQuestion.objects.get().pk
    settler = another_tablet(first)
    assert settler.push({"deleted": is_deleted}, 9, settles=key).outcome == "applied"
    assert (first.visit().deleted_at is not None) == is_deleted
    assert first.visit().note == "still needed"
    assert open_questions() == []
