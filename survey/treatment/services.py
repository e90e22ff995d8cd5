"""What changes a proposal: it is drafted, put forward, decided on, and begun."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.db.models import F, Max
from django.utils import timezone

from survey.access.models import Person
from survey.access.services import note
from survey.catalogue.models import Object
from survey.examination.models import Examination, Recommendation
from survey.treatment.models import Decision, ProposalStep, TreatmentProposal, TreatmentRecord
from survey.treatment.trouble import NotNow

State = TreatmentProposal.State

WORDS = ("aim", "risks", "alternatives")
STEP = ("kind", "what", "material", "concentration", "hours")
# What a proposal must say before anybody is asked to decide on it.
WANTED = {
    "aim": "Say what the treatment is to reach.",
    "risks": "Say what could go wrong, and how it would be seen in time.",
    "alternatives": (
        "Say what else could be done, doing nothing among it, and why it is not proposed."
    ),
}


def may_treat(person: Person) -> bool:
    """Conservators and the head propose and record treatments; couriers read them."""
    return not person.is_courier


def check_may_treat(person: Person) -> None:
    """Raises PermissionDenied for couriers."""
    if not may_treat(person):
        raise PermissionDenied(
            "Conservators and the head of department propose treatments and record them."
        )


def is_the_only_head(person: Person) -> bool:
    """Whether nobody else could decide on what this person proposes."""
    heads = Person.objects.filter(role=Person.Role.HEAD, is_active=True)
    return person.is_head and not heads.exclude(pk=person.pk).exists()


def draft(
    item: Object,
    *,
    person: Person,
    examination: Examination,
    recommendation: Recommendation | None,
    aim: str,
    risks: str = "",
    alternatives: str = "",
) -> TreatmentProposal:
    """Begin a proposal, on the state that an examination saw.

    Raises PermissionDenied for couriers, and ValidationError with a sentence by field.
    """
    check_may_treat(person)
    if examination.object_id != item.pk:
        raise ValidationError({"examination": "This examination is of another object."})
    if recommendation is not None and recommendation.examination.object_id != item.pk:
        raise ValidationError({"recommendation": "This work was recommended for another object."})
    if not aim.strip():
        raise ValidationError({"aim": WANTED["aim"]})
    with transaction.atomic():
        proposal = TreatmentProposal.objects.create(
            object=item,
            examination=examination,
            recommendation=recommendation,
            aim=aim.strip(),
            risks=risks.strip(),
            alternatives=alternatives.strip(),
            proposed_by=person,
        )
        note(person, "treatment drafted", item.accession_number, _key(proposal))
    return proposal


def rewrite(proposal: TreatmentProposal, *, person: Person, **words: str) -> TreatmentProposal:
    """Change what a proposal says, of WORDS; only while it is a draft or was sent back.

    Raises as draft does, and NotNow.
    """
    check_may_treat(person)
    with _written(proposal) as proposal:
        before = {name: getattr(proposal, name) for name in words}
        after = {name: value.strip() for name, value in words.items()}
        if not after.get("aim", proposal.aim):
            raise ValidationError({"aim": WANTED["aim"]})
        if after != before:
            for name, value in after.items():
                setattr(proposal, name, value)
            proposal.save(update_fields=list(after))
            detail = _key(proposal) | {"before": before, "after": after}
            note(person, "treatment rewritten", proposal.object.accession_number, detail)
    return proposal


def save_step(
    proposal: TreatmentProposal, step: ProposalStep | None, *, person: Person, **fields: Any
) -> ProposalStep:
    """Add a step at the end, or change one; ``fields`` are those of STEP. Raises as rewrite."""
    check_may_treat(person)
    with _written(proposal) as proposal:
        last = proposal.steps.aggregate(last=Max("order"))["last"] or 0
        saved = step or ProposalStep(proposal=proposal, order=last + 1)
        before = told(saved) if step else None
        for name, value in fields.items():
            setattr(saved, name, value)
        saved.full_clean(exclude=["proposal"])
        saved.save()
        action = "treatment step changed" if step else "treatment step added"
        detail = _key(proposal) | {"before": before, "after": told(saved)}
        note(person, action, proposal.object.accession_number, detail)
    return saved


def remove_step(step: ProposalStep, *, person: Person) -> None:
    """Take a step out of a proposal. Raises PermissionDenied, NotNow."""
    check_may_treat(person)
    with _written(step.proposal) as proposal:
        detail = _key(proposal) | told(step)
        note(person, "treatment step removed", proposal.object.accession_number, detail)
        step.delete()


def move_step(step: ProposalStep, *, person: Person, by: int) -> None:
    """Let a step change places with the one before it (−1) or after it (1)."""
    check_may_treat(person)
    with _written(step.proposal) as proposal:
        steps = list(proposal.steps.all())
        place = steps.index(step)
        other = place + by
        if not 0 <= other < len(steps):
            return
        steps[place], steps[other] = steps[other], steps[place]
        for order, one in enumerate(steps, start=1):
            one.order = order
        ProposalStep.objects.bulk_update(steps, ["order"])
        note(person, "treatment steps reordered", proposal.object.accession_number, _key(proposal))


def put_forward(proposal: TreatmentProposal, *, person: Person) -> TreatmentProposal:
    """Ask the head of department to decide. Raises ValidationError for whatever is wanting."""
    check_may_treat(person)
    with _written(proposal) as proposal:
        wanting = [sentence for name, sentence in WANTED.items() if not getattr(proposal, name)]
        if not proposal.steps.exists():
            wanting.append("Add at least one step: what is to be done, with what, in which hours.")
        if wanting:
            raise ValidationError(wanting)
        proposal.put_forward_at = timezone.now()
        _enter(proposal, State.FORWARD, "put_forward_at")
        note(person, "treatment put forward", proposal.object.accession_number, _key(proposal))
    return proposal


def approve(proposal: TreatmentProposal, *, person: Person, reason: str = "") -> Decision:
    """The head's yes, with a reason or condition if there is one.

    Nobody approves what they proposed, unless there is no other head; then the decision says so.
    Raises PermissionDenied, and NotNow for a proposal that was not put forward.
    """
    return _decide(proposal, person, Decision.Word.APPROVED, State.APPROVED, reason)


def send_back(proposal: TreatmentProposal, *, person: Person, reason: str) -> Decision:
    """The head's not yet, with the reason. Raises as approve does, and ValidationError."""
    if not reason.strip():
        raise ValidationError(
            {"reason": "Say why it is sent back, so that the proposer knows what to change."}
        )
    return _decide(proposal, person, Decision.Word.SENT_BACK, State.SENT_BACK, reason)


def may_withdraw(proposal: TreatmentProposal, person: Person) -> bool:
    """Its proposer and the head may, while nothing is begun."""
    is_theirs = person.is_head or proposal.proposed_by_id == person.pk
    return may_treat(person) and is_theirs and proposal.state in TreatmentProposal.NOT_BEGUN


def withdraw(proposal: TreatmentProposal, *, person: Person, reason: str) -> Decision:
    """It is no longer proposed. It stays as it was, with the reason, and is never changed again.

    Raises PermissionDenied unless by its proposer or the head, NotNow once the treatment is begun,
    and ValidationError without a reason.
    """
    check_may_treat(person)
    if not (person.is_head or proposal.proposed_by_id == person.pk):
        raise PermissionDenied("Whoever proposed it, or the head of department, withdraws it.")
    if not reason.strip():
        raise ValidationError({"reason": "Say why it is withdrawn, for those who read it later."})
    with changing(proposal, *TreatmentProposal.NOT_BEGUN) as proposal:
        before = proposal.state
        word = Decision.objects.create(
            proposal=proposal, word=Decision.Word.WITHDRAWN, reason=reason.strip(), person=person
        )
        _enter(proposal, State.WITHDRAWN)
        detail = _key(proposal) | {"reason": word.reason, "before": before}
        note(person, "treatment withdrawn", proposal.object.accession_number, detail)
    return word


def begin(proposal: TreatmentProposal, *, person: Person) -> TreatmentRecord:
    """Start the work that was approved. Raises PermissionDenied, NotNow."""
    check_may_treat(person)
    with changing(proposal, State.APPROVED) as proposal:
        record = TreatmentRecord.objects.create(proposal=proposal, begun_by=person)
        _enter(proposal, State.UNDER_WAY)
        note(person, "treatment begun", proposal.object.accession_number, _key(proposal))
    return record


@contextmanager
def changing(proposal: TreatmentProposal, *states: str) -> Iterator[TreatmentProposal]:
    """The proposal as it stands, alone with it, its revision raised. Raises NotNow unless it is
    in one of these states."""
    with transaction.atomic():
        alone = (
            TreatmentProposal.objects.select_for_update(of=("self",))
            .select_related("object", "proposed_by")
            .get(pk=proposal.pk)
        )
        if alone.state not in states:
            raise NotNow(_why_not(alone))
        TreatmentProposal.objects.filter(pk=alone.pk).update(revision=F("revision") + 1)
        yield alone


def finish_as(proposal: TreatmentProposal, state: State) -> None:
    """For the record's end; within ``changing``."""
    _enter(proposal, state)


def told(step: Any) -> dict[str, Any]:
    """A step for the audit trail."""
    return {name: getattr(step, name) for name in STEP}


def _written(proposal: TreatmentProposal) -> Any:
    return changing(proposal, *TreatmentProposal.OPEN)


def _decide(
    proposal: TreatmentProposal, person: Person, word: Decision.Word, state: State, reason: str
) -> Decision:
    if not person.is_head:
        raise PermissionDenied("The head of department decides on proposals.")
    with changing(proposal, State.FORWARD) as proposal:
        is_own = proposal.proposed_by_id == person.pk
        if is_own and not is_the_only_head(person):
            raise PermissionDenied(
                "You proposed this yourself: another head of department decides on it."
            )
        decision = Decision.objects.create(
            proposal=proposal,
            word=word,
            reason=reason.strip(),
            by_the_only_head=is_own,
            person=person,
        )
        _enter(proposal, state)
        detail = _key(proposal) | {"reason": decision.reason, "own": is_own}
        action = "treatment " + word.label.lower()
        note(person, action, proposal.object.accession_number, detail)
    return decision


def _enter(proposal: TreatmentProposal, state: State, *fields: str) -> None:
    proposal.state = state
    proposal.save(update_fields=["state", *fields])


def _key(proposal: TreatmentProposal) -> dict[str, Any]:
    return {"proposal": str(proposal.pk)}


def _why_not(proposal: TreatmentProposal) -> str:
    return {
        State.DRAFT: "It is a draft: put it forward first.",
        State.SENT_BACK: "It was sent back: change it and put it forward again first.",
        State.FORWARD: "It waits for the head of department, and cannot be changed meanwhile.",
        State.APPROVED: (
            "It is approved as it stands. To do otherwise, begin the treatment and note what was "
            "done instead, or propose anew."
        ),
        State.UNDER_WAY: "The treatment is under way: what is done now goes into its record.",
        State.DONE: "The treatment is done and its record closed.",
        State.WITHDRAWN: "It was withdrawn, and stays as it was. To take it up, propose anew.",
    }[State(proposal.state)]
