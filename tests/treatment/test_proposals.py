"""A proposal from its first words to the decision on it, and what each state allows."""

from typing import Any

import pytest
from django.core.exceptions import PermissionDenied, ValidationError

from survey.access.models import AuditEntry, Person
from survey.treatment import services
from survey.treatment.models import TreatmentProposal
from survey.treatment.trouble import NotNow
from tests.factories import (
    ExaminationFactory,
    PersonFactory,
    ProposalFactory,
    ProposalStepFactory,
    RecommendationFactory,
)

pytestmark = pytest.mark.django_db

State = TreatmentProposal.State
STEP = {
    "kind": "wash",
    "what": "Wash floating, two baths.",
    "material": "Deionised water",
    "concentration": "",
    "hours": 3.0,
}


@pytest.fixture
def head() -> Person:
    return PersonFactory(role=Person.Role.HEAD)


@pytest.fixture
def forward() -> TreatmentProposal:
    """Put forward, with one step."""
    proposal = ProposalFactory()
    ProposalStepFactory(proposal=proposal)
    return services.put_forward(proposal, person=proposal.proposed_by)


def drafted(**values: Any) -> TreatmentProposal:
    examination = ExaminationFactory(signed=True)
    given = {"recommendation": None, "aim": "To mend it.", **values}
    return services.draft(
        given.pop("item", examination.object),
        **{"person": PersonFactory(), "examination": examination, **given},
    )


def test_a_draft_is_noted_in_the_audit_trail():
    proposal = drafted(aim="  To mend it. ")
    assert (proposal.state, proposal.aim) == (State.DRAFT, "To mend it.")
    entry = AuditEntry.objects.get(action="treatment drafted")
    assert entry.subject == proposal.object.accession_number
    assert entry.detail == {"proposal": str(proposal.pk)}


def test_a_draft_says_what_it_aims_at():
    with pytest.raises(ValidationError, match="what the treatment is to reach"):
        drafted(aim=" ")


def test_what_belongs_to_another_object_is_refused():
    with pytest.raises(ValidationError, match="of another object"):
        drafted(examination=ExaminationFactory(), item=ExaminationFactory().object)
    with pytest.raises(ValidationError, match="recommended for another object"):
        drafted(recommendation=RecommendationFactory())


def test_couriers_propose_nothing(forward: TreatmentProposal):
    courier = PersonFactory(role=Person.Role.COURIER)
    for refused in (
        lambda: drafted(person=courier),
        lambda: services.rewrite(forward, person=courier, aim="Another"),
        lambda: services.save_step(forward, None, person=courier, **STEP),
        lambda: services.begin(forward, person=courier),
    ):
        with pytest.raises(PermissionDenied, match="Conservators and the head"):
            refused()


def test_words_are_changed_while_it_is_a_draft_and_each_change_is_kept():
    proposal = drafted()
    services.rewrite(proposal, person=PersonFactory(), aim="To wash it.", risks="Bleeding ink.")
    services.rewrite(proposal, person=PersonFactory(), aim="To wash it.")
    proposal.refresh_from_db()
    assert (proposal.aim, proposal.risks) == ("To wash it.", "Bleeding ink.")
    [entry] = AuditEntry.objects.filter(action="treatment rewritten")
    assert entry.detail["before"]["aim"] == "To mend it."


def test_steps_keep_their_order_and_can_change_places():
    proposal, person = drafted(), PersonFactory()
    for what in ("One.", "Two.", "Three."):
        services.save_step(proposal, None, person=person, **(STEP | {"what": what}))
    first, _, last = proposal.steps.all()
    services.move_step(last, person=person, by=-1)
    services.move_step(first, person=person, by=-1)
    assert [one.what for one in proposal.steps.all()] == ["One.", "Three.", "Two."]
    services.remove_step(first, person=person)
    services.save_step(proposal, None, person=person, **(STEP | {"what": "Four."}))
    assert [one.what for one in proposal.steps.all()] == ["Three.", "Two.", "Four."]
    assert AuditEntry.objects.get(action="treatment step removed").detail["what"] == "One."


@pytest.mark.parametrize(
    ("wrong", "field", "said"),
    [
        ({"material": " "}, "material", "“Wash” is done with one"),
        ({"kind": "photograph", "material": "", "concentration": "5 %"}, "material", "this conc"),
        ({"kind": "sing"}, "kind", "Choose what kind of step"),
        ({"hours": -0.5}, "hours", "from 0 to 2000"),
        ({"hours": float("inf")}, "hours", "from 0 to 2000"),
        ({"hours": float("nan")}, "hours", "from 0 to 2000"),
        ({"what": ""}, "what", "Say in a sentence what is done"),
    ],
)
def test_a_step_that_cannot_be_meant_is_told_in_a_sentence(wrong, field, said):
    with pytest.raises(ValidationError) as refusal:
        services.save_step(drafted(), None, person=PersonFactory(), **(STEP | wrong))
    assert any(said in sentence for sentence in refusal.value.message_dict[field])


def test_a_kind_that_needs_no_material_asks_for_none():
    step = services.save_step(
        drafted(), None, person=PersonFactory(), **(STEP | {"kind": "flatten", "material": ""})
    )
    assert step.material_in_words == ""


def test_put_forward_it_must_say_all_that_is_decided_on():
    proposal = drafted()
    with pytest.raises(ValidationError) as refusal:
        services.put_forward(proposal, person=proposal.proposed_by)
    said = " ".join(refusal.value.messages)
    assert "what could go wrong" in said and "what else could be done" in said
    assert "at least one step" in said
    proposal.refresh_from_db()
    assert proposal.state == State.DRAFT


def test_while_it_waits_nobody_changes_it(forward: TreatmentProposal):
    step = forward.steps.get()
    for refused in (
        lambda: services.rewrite(forward, person=forward.proposed_by, aim="Another"),
        lambda: services.save_step(forward, step, person=forward.proposed_by, **STEP),
        lambda: services.remove_step(step, person=forward.proposed_by),
        lambda: services.put_forward(forward, person=forward.proposed_by),
    ):
        with pytest.raises(NotNow, match="waits for the head of department"):
            refused()


def test_the_head_approves(forward: TreatmentProposal, head: Person):
    decision = services.approve(forward, person=head, reason=" Photograph it first. ")
    forward.refresh_from_db()
    assert forward.state == State.APPROVED
    assert (decision.reason, decision.by_the_only_head) == ("Photograph it first.", False)
    assert AuditEntry.objects.get(action="treatment approved").person == head


def test_only_the_head_decides(forward: TreatmentProposal):
    for decide in (services.approve, services.send_back):
        with pytest.raises(PermissionDenied, match="head of department decides"):
            decide(forward, person=PersonFactory(), reason="Fine.")


def test_a_draft_is_not_decided_on(head: Person):
    with pytest.raises(NotNow, match="put it forward first"):
        services.approve(drafted(), person=head)


def test_a_head_does_not_approve_their_own_while_there_is_another(
    forward: TreatmentProposal, head: Person
):
    other = PersonFactory(role=Person.Role.HEAD)
    TreatmentProposal.objects.update(proposed_by=head)
    with pytest.raises(PermissionDenied, match="You proposed this yourself"):
        services.approve(forward, person=head)
    # One whose account is closed decides on nothing.
    Person.objects.filter(pk=other.pk).update(is_active=False)
    assert services.approve(forward, person=head).by_the_only_head


def test_sent_back_it_says_why_and_is_put_forward_again(forward: TreatmentProposal, head: Person):
    with pytest.raises(ValidationError, match="Say why it is sent back"):
        services.send_back(forward, person=head, reason=" ")
    services.send_back(forward, person=head, reason="Test the blue first.")
    services.rewrite(forward, person=forward.proposed_by, risks="The blue; tested first.")
    services.put_forward(forward, person=forward.proposed_by)
    services.approve(forward, person=head)
    words = [(one.word, one.reason) for one in forward.decisions.all()]
    assert words == [("approved", ""), ("sent-back", "Test the blue first.")]


def test_only_what_is_approved_is_begun(forward: TreatmentProposal, head: Person):
    with pytest.raises(NotNow):
        services.begin(forward, person=forward.proposed_by)
    services.approve(forward, person=head)
    record = services.begin(forward, person=forward.proposed_by)
    forward.refresh_from_db()
    assert (forward.state, record.begun_by) == (State.UNDER_WAY, forward.proposed_by)
    with pytest.raises(NotNow, match="under way"):
        services.begin(forward, person=forward.proposed_by)


def test_each_change_raises_its_revision(forward: TreatmentProposal, head: Person):
    before = TreatmentProposal.objects.get().revision
    services.approve(forward, person=head)
    services.begin(forward, person=head)
    assert TreatmentProposal.objects.get().revision == before + 2


@pytest.mark.parametrize("state", TreatmentProposal.NOT_BEGUN)
def test_its_proposer_or_the_head_withdraws_what_is_not_begun(state, head):
    for own in (True, False):
        proposal = ProposalFactory(state=state)
        person = proposal.proposed_by if own else head
        assert services.may_withdraw(proposal, person)
        word = services.withdraw(proposal, person=person, reason=" The loan fell through. ")
        proposal.refresh_from_db()
        assert (proposal.state, proposal.revision) == (State.WITHDRAWN, 1)
        assert (word.reason, word.person) == ("The loan fell through.", person)
        assert proposal.decision == word
        entry = AuditEntry.objects.filter(action="treatment withdrawn").latest("pk")
        assert entry.detail == {
            "proposal": str(proposal.pk),
            "reason": "The loan fell through.",
            "before": state,
        }
        assert not services.may_withdraw(proposal, person)


def test_nobody_else_withdraws_it_and_never_without_a_reason(forward):
    other, courier = PersonFactory(), PersonFactory(role=Person.Role.COURIER)
    for person in (other, courier):
        assert not services.may_withdraw(forward, person)
        with pytest.raises(PermissionDenied):
            services.withdraw(forward, person=person, reason="Mine")
    with pytest.raises(ValidationError, match="Say why it is withdrawn"):
        services.withdraw(forward, person=forward.proposed_by, reason=" ")
    forward.refresh_from_db()
    assert forward.state == State.FORWARD


@pytest.mark.parametrize("state", [State.UNDER_WAY, State.DONE])
def test_what_is_begun_is_not_withdrawn(state, head):
    with pytest.raises(NotNow):
        services.withdraw(ProposalFactory(state=state), person=head, reason="No")


def test_what_is_withdrawn_never_changes_again(forward, head):
    person = forward.proposed_by
    services.withdraw(forward, person=person, reason="The loan fell through.")
    step = forward.steps.get()
    for change in (
        lambda: services.rewrite(forward, person=person, aim="Other"),
        lambda: services.save_step(forward, None, person=person, **STEP),
        lambda: services.remove_step(step, person=person),
        lambda: services.put_forward(forward, person=person),
        lambda: services.approve(forward, person=head),
        lambda: services.begin(forward, person=person),
        lambda: services.withdraw(forward, person=person, reason="Again"),
    ):
        with pytest.raises(NotNow, match="It was withdrawn, and stays as it was"):
            change()
