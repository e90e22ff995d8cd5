"""Handing work over: offered, accepted, sent back, ended."""

import pytest
from django.core.exceptions import PermissionDenied, ValidationError

from survey.access.models import AuditEntry
from survey.triage import handing, placing
from survey.triage.history import history_of
from survey.triage.work import HandOver
from tests.factories import PersonFactory
from tests.triage.conftest import order, row_of

pytestmark = pytest.mark.django_db


def test_work_is_somebodys_only_once_they_accepted_it(four, head, conservator):
    handing.hand_over(four[0].pk, person=head, to_person=conservator, reason="You know inks")
    row = row_of(four[0])
    assert row.person is None and row.hand_over.state == HandOver.State.OFFERED
    handing.accept(four[0].pk, person=conservator)
    assert row_of(four[0]).person == conservator
    assert order() == ["A", "B", "C", "D"]


def test_it_is_sent_back_with_words(four, head, conservator):
    handing.hand_over(four[0].pk, person=head, to_person=conservator, reason="You know inks")
    with pytest.raises(ValidationError, match="why it goes back"):
        handing.send_back(four[0].pk, person=conservator, answer=" ")
    handing.send_back(four[0].pk, person=conservator, answer="Away until June")
    row = row_of(four[0])
    assert (row.person, row.hand_over.answer) == (None, "Away until June")
    said = [event.sentence for event in history_of(row)]
    assert said == [
        "Handed over to Wren Halloway: You know inks",
        "Sent back: Away until June",
    ]
    with pytest.raises(ValidationError, match="answered already"):
        handing.accept(four[0].pk, person=conservator)
    with pytest.raises(ValidationError, match="sent back already"):
        handing.send_back(four[0].pk, person=conservator, answer="Again")


def test_what_was_accepted_can_still_be_sent_back(four, head, conservator):
    handing.hand_over(four[0].pk, person=head, to_person=conservator, reason="You know inks")
    handing.accept(four[0].pk, person=conservator)
    handing.send_back(four[0].pk, person=conservator, answer="Ill")
    assert row_of(four[0]).person is None


def test_only_the_person_it_was_offered_to_or_the_head_answers(four, head, conservator):
    other = PersonFactory()
    handing.hand_over(four[0].pk, person=other, to_person=conservator, reason="You know inks")
    with pytest.raises(PermissionDenied, match="Wren Halloway or the head"):
        handing.accept(four[0].pk, person=other)
    handing.accept(four[0].pk, person=head)


def test_whoever_takes_it_on_has_accepted_it(four, conservator):
    handing.hand_over(four[0].pk, person=conservator, to_person=conservator, reason="Mine")
    assert row_of(four[0]).person == conservator


def test_another_studio_has_it_in_its_queue_once_it_accepted(four, head, conservator):
    handing.hand_over(four[0].pk, person=head, to_studio="photographs", reason="An albumen print")
    assert order() == ["A", "B", "C", "D"]
    assert row_of(four[0]).hand_over.receiver == "the photographs studio"
    handing.accept(four[0].pk, person=conservator)
    assert order() == ["B", "C", "D"]
    assert order(("photographs", "treat")) == ["A"]
    placing.take_back(four[0].pk, person=head)
    assert order() == ["A", "B", "C", "D"]


def test_a_new_offer_replaces_the_old_and_an_ended_one_is_nobodys(four, head, conservator):
    other = PersonFactory()
    handing.hand_over(four[0].pk, person=head, to_person=other, reason="You")
    handing.hand_over(four[0].pk, person=head, to_person=conservator, reason="No, you")
    assert HandOver.objects.filter(ended_at=None).get().to_person == conservator
    with pytest.raises(PermissionDenied, match="takes it back"):
        handing.end_hand_over(four[0].pk, person=other)
    handing.end_hand_over(four[0].pk, person=head)
    assert row_of(four[0]).hand_over is None
    with pytest.raises(ValidationError, match="not handed over"):
        handing.end_hand_over(four[0].pk, person=head)


def test_nobody_who_takes_on_no_work_is_offered_any(four, head, courier):
    gone = PersonFactory(is_active=False)
    assert courier not in handing.colleagues() and gone not in handing.colleagues()
    assert head in handing.colleagues()
    for person in (courier, gone):
        with pytest.raises(ValidationError, match="does not take on work here"):
            handing.hand_over(four[0].pk, person=head, to_person=person, reason="You")


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({}, "Choose a person or a studio"),
        ({"to_studio": "ceramics"}, "no such studio"),
        ({"to_studio": "paper"}, "this studio's already"),
        ({"to_studio": "objects", "reason": ""}, "what is handed over, and why"),
    ],
)
def test_an_offer_that_says_nothing_is_refused_with_a_sentence(four, head, told, words):
    with pytest.raises(ValidationError, match=words):
        handing.hand_over(four[0].pk, **{"person": head, "reason": "You", **told})


def test_hand_overs_are_audited_and_couriers_make_none(four, head, courier, conservator):
    with pytest.raises(PermissionDenied):
        handing.hand_over(four[0].pk, person=courier, to_person=conservator, reason="You")
    handing.hand_over(four[0].pk, person=head, to_person=conservator, reason="You")
    handing.accept(four[0].pk, person=conservator)
    handing.end_hand_over(four[0].pk, person=conservator)
    assert list(AuditEntry.objects.values_list("action", flat=True)) == [
        "hand-over ended",
        "work accepted",
        "work handed over",
    ]
