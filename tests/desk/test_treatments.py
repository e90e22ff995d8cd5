"""Treatments at the desk: proposed, decided on, recorded, closed, and told on the object's page."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from survey.access.models import Person
from survey.treatment import recording
from survey.treatment.models import TreatmentProposal, TreatmentRecord
from survey.triage.models import Readiness
from tests.desk.conftest import text_of
from tests.desk.readings import photographed
from tests.factories import (
    ProposalFactory,
    ProposalStepFactory,
    RecommendationFactory,
    RecordStepFactory,
    TreatmentRecordFactory,
    examined,
)

pytestmark = pytest.mark.django_db

State = TreatmentProposal.State
WASH = {
    "kind": "wash",
    "what": "Wash floating.",
    "material": "Deionised water",
    "concentration": "",
    "hours": "3",
}


def url(name: str, *keys: Any) -> str:
    return reverse(f"desk:{name}", args=keys)


def page(client: Client, proposal: TreatmentProposal) -> str:
    return text_of(client.get(url("treatment", proposal.pk)))


def forward(**values: Any) -> TreatmentProposal:
    proposal = ProposalFactory(state=State.FORWARD, put_forward_at=timezone.now(), **values)
    ProposalStepFactory(proposal=proposal)
    return proposal


def test_from_the_recommendation_to_the_record(
    desk: Client, head_desk: Client, conservator: Person
) -> None:
    examination = photographed("normal", signed=True)
    work = RecommendationFactory(examination=examination, note="Mend the tear.")
    item = examination.object
    begin = desk.get(url("treatment-new", item.pk), {"recommendation": work.pk})
    assert f'value="{work.pk}" selected' in begin.content.decode()
    answer = desk.post(
        url("treatment-new", item.pk),
        {"examination": examination.pk, "recommendation": work.pk, "aim": "To mend the tear."},
    )
    proposal = TreatmentProposal.objects.get()
    assert answer.url == url("treatment", proposal.pk)
    assert (proposal.proposed_by, proposal.recommendation) == (conservator, work)

    told = text_of(desk.post(url("treatment-forward", proposal.pk), follow=True))
    assert "what could go wrong" in told and "at least one step" in told
    words = {"aim": "To mend it.", "risks": "The ink may run.", "alternatives": "To leave it."}
    desk.post(url("treatment-words", proposal.pk), words)
    desk.post(url("treatment-step-add", proposal.pk), WASH)
    desk.post(url("treatment-forward", proposal.pk))
    assert "The head of department decides." in page(desk, proposal)

    head_desk.post(url("treatment-decide", proposal.pk), {"word": "approve", "reason": "Good."})
    assert "Approved by Ottilie Crane" in page(desk, proposal)
    desk.post(url("treatment-begin", proposal.pk))
    step = proposal.steps.get()
    prefilled = desk.get(url("done-step-add", proposal.pk), {"step": step.pk})
    assert "Wash floating." in prefilled.content.decode()
    desk.post(
        url("done-step-add", proposal.pk),
        WASH | {"proposed": step.pk, "done_on": timezone.localdate(), "seen": "Yellow water."},
    )
    photograph = examination.photographs.get()
    desk.post(
        url("treatment-photographs", proposal.pk),
        {"moment": "before", "photograph": [photograph.pk]},
    )
    told = page(desk, proposal)
    assert "Yellow water." in told and "3 h; 3 h planned" in told
    assert f"Before , {timezone.localdate():%-d %B %Y} Normal light, recto" in told
    again = timezone.localdate() + timedelta(days=400)
    desk.post(url("treatment-close", proposal.pk), {"outcome": "Clean.", "look_again_on": again})
    proposal.refresh_from_db()
    assert proposal.state == State.DONE
    assert Readiness.objects.get(recommendation=work).done_at is not None
    told = text_of(desk.get(url("object", item.pk)))
    assert f"To be looked at again on {again:%-d %B %Y}" in told


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"hours": "-1"}, "from 0 to 2000"),
        ({"hours": "many"}, "Give a number, as 2.5."),
        ({"material": ""}, "Name the material"),
        ({"kind": "sing"}, "Choose one of those that are offered."),
    ],
)
def test_a_step_that_cannot_be_meant_is_told_and_nothing_typed_is_lost(
    desk: Client, wrong: dict[str, str], said: str
) -> None:
    proposal = ProposalFactory()
    answer = desk.post(url("treatment-step-add", proposal.pk), WASH | wrong)
    assert answer.status_code == 400
    assert said in text_of(answer) and "Wash floating." in answer.content.decode()
    assert not proposal.steps.exists()


def test_a_step_is_changed_moved_and_taken_out(desk: Client) -> None:
    proposal = ProposalFactory()
    first, second = (ProposalStepFactory(proposal=proposal, what=f"{n}.") for n in "AB")
    desk.post(url("treatment-step", proposal.pk, first.pk), WASH)
    change = url("treatment-step-change", proposal.pk, first.pk)
    desk.post(change, {"do": "down"})
    assert [one.what for one in proposal.steps.all()] == ["B.", "Wash floating."]
    desk.post(change, {"do": "remove"})
    assert proposal.steps.get() == second
    assert desk.post(url("treatment-step", ProposalFactory().pk, second.pk)).status_code == 404


def test_solvent_and_mould_steps_show_what_to_keep_to(desk: Client) -> None:
    proposal = ProposalFactory()
    ProposalStepFactory(proposal=proposal, kind="reduce-stain-solvent", material="Ethanol")
    ProposalStepFactory(proposal=proposal, kind="remove-mould")
    told = page(desk, proposal)
    for words in ("Caution: solvent", "Caution: mould", "Extraction.", "Gloves.", "Waste."):
        assert words in told
    assert told.count("safety data sheet") >= 2 and "Your museum's rules" in told
    form = desk.get(url("treatment-step-add", proposal.pk)).content.decode()
    assert 'data-kinds="test-solvent reduce-adhesive-solvent' in form


def test_sent_back_without_a_reason_is_asked_for_one(head_desk: Client) -> None:
    proposal = forward()
    decide = url("treatment-decide", proposal.pk)
    answer = head_desk.post(decide, {"word": "send-back", "reason": ""})
    assert answer.status_code == 400 and "Say why it is sent back" in text_of(answer)
    head_desk.post(decide, {"word": "send-back", "reason": "Test the blue first."})
    told = page(head_desk, proposal)
    assert "Sent back by Ottilie Crane" in told and "Test the blue first." in told


def test_who_may_not_decide_is_told_who_does(desk: Client, head: Person, at_desk: Any) -> None:
    assert "Approve" not in page(desk, forward())
    proposal = forward(proposed_by=head)
    assert "There is no other head of department" in page(at_desk(head), proposal)
    other = Person.objects.create(username="second-head", role=Person.Role.HEAD)
    assert "another head of department decides" in page(at_desk(head), proposal)
    decide = url("treatment-decide", proposal.pk)
    assert at_desk(head).post(decide, {"word": "approve"}).status_code == 403
    other.delete()
    at_desk(head).post(decide, {"word": "approve"})
    assert "It was their own proposal" in page(desk, proposal)


def test_a_draft_that_somebody_approves_by_its_address_says_what_comes_first(
    head_desk: Client,
) -> None:
    proposal = ProposalFactory()
    answer = head_desk.post(url("treatment-decide", proposal.pk), {"word": "approve"}, follow=True)
    assert "It is a draft: put it forward first." in text_of(answer)


def test_a_day_that_has_passed_is_no_day_to_look_again(desk: Client) -> None:
    record = TreatmentRecordFactory()
    RecordStepFactory(record=record)
    answer = desk.post(
        url("treatment-close", record.proposal.pk),
        {"outcome": "Done.", "look_again_on": "2020-01-01"},
    )
    assert answer.status_code == 400 and "is not ahead" in text_of(answer)
    assert not TreatmentRecord.objects.get().is_closed


def test_couriers_read_and_do_not_write(courier_desk: Client) -> None:
    proposal = forward()
    told = page(courier_desk, proposal)
    assert "To make the sheet safe" in told and "Add a step" not in told
    assert courier_desk.get(url("treatment-words", proposal.pk)).status_code == 403
    assert courier_desk.get(url("treatment-new", proposal.object.pk)).status_code == 403
    assert courier_desk.post(url("treatment-begin", proposal.pk)).status_code == 403


def test_without_an_examination_nothing_is_proposed(desk: Client) -> None:
    examination = examined(deleted_at=timezone.now())
    item = examination.object
    answer = desk.get(url("treatment-new", item.pk), follow=True)
    assert "examine it first" in text_of(answer)
    assert "Propose a treatment" not in text_of(desk.get(url("object", item.pk)))


def test_photographs_of_other_objects_cannot_be_chosen(desk: Client) -> None:
    record = TreatmentRecordFactory(proposal__examination=photographed("normal"))
    other = photographed("normal").photographs.get()
    answer = desk.post(
        url("treatment-photographs", record.proposal.pk),
        {"moment": "after", "photograph": [other.pk]},
    )
    assert answer.status_code == 400 and "Tick the photographs" in text_of(answer)


def test_a_photograph_is_put_back_and_a_step_taken_out(desk: Client, conservator: Person) -> None:
    examination = photographed("normal", signed=True)
    record = TreatmentRecordFactory(proposal__examination=examination)
    step = RecordStepFactory(record=record)
    recording.choose(record, examination.photographs.all(), person=conservator, moment="during")
    key = record.proposal.pk
    desk.post(url("photograph-back", key, record.chosen.get().pk))
    desk.post(url("done-step-remove", key, step.pk))
    assert not record.chosen.exists() and not record.steps.exists()


def test_the_list_puts_first_what_waits(desk: Client) -> None:
    forward(aim="First aim.")
    ProposalFactory(aim="Second aim.")
    told = text_of(desk.get(url("treatments")))
    assert told.index("First aim.") < told.index("Second aim.")
    assert "Wait for the head of department 1" in told


def test_many_treatments_take_no_more_queries(
    desk: Client, django_assert_max_num_queries: Any
) -> None:
    forward()
    with django_assert_max_num_queries(40) as first:
        desk.get(url("treatments"))
    for _ in range(4):
        forward()
    with django_assert_max_num_queries(len(first)):
        desk.get(url("treatments"))


def test_many_steps_and_photographs_take_no_more_queries(
    desk: Client, conservator: Person, django_assert_max_num_queries: Any
) -> None:
    examination = photographed("normal", "raking", "raking", signed=True)
    record = TreatmentRecordFactory(proposal__examination=examination)
    photographs = list(examination.photographs.all())

    def filled(number: int) -> None:
        for _ in range(number):
            RecordStepFactory(record=record)
            ProposalStepFactory(proposal=record.proposal)

    filled(1)
    recording.choose(record, photographs[:1], person=conservator, moment="before")
    with django_assert_max_num_queries(80) as first:
        page(desk, record.proposal)
    filled(4)
    recording.choose(record, photographs, person=conservator, moment="after")
    with django_assert_max_num_queries(len(first)):
        page(desk, record.proposal)


def test_a_proposal_is_withdrawn_with_a_reason_and_stays_to_be_read(
    desk: Client, head_desk: Client, courier_desk: Client
) -> None:
    proposal = forward()
    address = url("treatment-withdraw", proposal.pk)
    assert address not in desk.get(url("treatment", proposal.pk)).content.decode()
    assert desk.post(address, {"reason": "Mine"}).status_code == 403
    assert courier_desk.get(address).status_code == 403
    assert address in head_desk.get(url("treatment", proposal.pk)).content.decode()
    answer = head_desk.post(address, {"reason": " "})
    assert answer.status_code == 400 and "Say why it is withdrawn" in text_of(answer)
    head_desk.post(address, {"reason": "The loan fell through."})
    told = page(desk, proposal)
    assert "Withdrawn by Ottilie Crane" in told and "The loan fell through." in told
    assert "Change the words" not in told and "Put it forward" not in told
    listed = text_of(desk.get(url("treatments")))
    assert "Withdrawn 1" in listed
    answer = head_desk.post(address, {"reason": "Again"})
    assert answer.status_code == 400 and "It was withdrawn, and stays as it was" in text_of(answer)
