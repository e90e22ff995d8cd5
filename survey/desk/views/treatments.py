"""Proposals for treatment: the list, one with its steps, and the decision on it."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import ValidationError
from django.forms import BaseForm
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from survey.desk.made_reports import listed
from survey.desk.treated import Treated, treated
from survey.desk.treatment_forms import (
    DecisionForm,
    DoneStepForm,
    NewProposalForm,
    ProposalWordsForm,
    StepForm,
    WithdrawForm,
)
from survey.desk.views.objects import living_object
from survey.desk.views.session import person_of
from survey.reports.models import Report
from survey.treatment import queries, services
from survey.treatment.kinds import step_kinds, warnings_by_kind
from survey.treatment.models import ProposalStep, RecordStep, TreatmentProposal
from survey.treatment.trouble import NotNow
from survey.triage.gather import standings

State = TreatmentProposal.State

# The list, by what is to be done next; each heading with its states.
SECTIONS = (
    ("Wait for the head of department", (State.FORWARD,)),
    ("Under way", (State.UNDER_WAY,)),
    ("Approved, not begun", (State.APPROVED,)),
    ("Drafts, and those sent back", (State.DRAFT, State.SENT_BACK)),
    ("Done", (State.DONE,)),
    ("Withdrawn", (State.WITHDRAWN,)),
)


@require_safe
@login_required
def treatment_list(request: HttpRequest) -> HttpResponse:
    found = list(queries.proposals())
    return render(
        request,
        "desk/treatment/list.html",
        {
            "sections": [
                (name, [one for one in found if one.state in states]) for name, states in SECTIONS
            ],
            "look_again": [one for one in queries.look_again() if not one.is_seen_since],
            "today": timezone.localdate(),
        },
    )


@require_safe
@login_required
def treatment_page(request: HttpRequest, key: UUID) -> HttpResponse:
    return page_of(request, living_proposal(key))


@login_required
def new_proposal(request: HttpRequest, key: UUID) -> HttpResponse:
    """Begin one, on the state that stands of the object."""
    item = living_object(key)
    services.check_may_treat(person_of(request))
    standing = next(iter(standings(timezone.localdate(), [item.pk])), None)
    if standing is None:
        messages.error(
            request,
            "A proposal answers to an examination, and this object has none yet: examine it first.",
        )
        return redirect("desk:object", key=item.pk)
    initial = {
        "examination": standing.examination.pk,
        "recommendation": request.GET.get("recommendation"),
    }
    form = NewProposalForm(item, request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        try:
            proposal = services.draft(item, person=person_of(request), **form.cleaned_data)
        except ValidationError as refusal:
            form.add_error(None, refusal)
        else:
            return redirect("desk:treatment", key=proposal.pk)
    return render(
        request,
        "desk/treatment/new.html",
        {"object": item, "form": form},
        status=400 if form.errors else 200,
    )


@login_required
def edit_words(request: HttpRequest, key: UUID) -> HttpResponse:
    proposal = living_proposal(key)
    services.check_may_treat(person_of(request))
    initial = {name: getattr(proposal, name) for name in services.WORDS}
    form = ProposalWordsForm(request.POST or None, initial=initial)
    if entered(
        request,
        form,
        lambda: services.rewrite(proposal, person=person_of(request), **form.words()),
    ):
        return redirect("desk:treatment", key=proposal.pk)
    return render(
        request,
        "desk/treatment/words.html",
        {"object": proposal.object, "proposal": proposal, "form": form},
        status=400 if form.errors else 200,
    )


@login_required
def edit_step(request: HttpRequest, key: UUID, step: UUID | None = None) -> HttpResponse:
    """A new step of a proposal, or one of its own."""
    proposal = living_proposal(key)
    services.check_may_treat(person_of(request))
    known = get_object_or_404(ProposalStep, pk=step, proposal=proposal) if step else None
    form = StepForm(request.POST or None, instance=known)
    if entered(
        request,
        form,
        lambda: services.save_step(proposal, known, person=person_of(request), **form.cleaned_data),
    ):
        return redirect("desk:treatment", key=proposal.pk)
    return step_form(request, "desk/treatment/step.html", proposal, known, form)


@require_POST
@login_required
def change_step(request: HttpRequest, key: UUID, step: UUID) -> HttpResponse:
    """Take a step out, or let it change places with its neighbour."""
    known = get_object_or_404(
        ProposalStep.objects.select_related("proposal"), pk=step, proposal=living_proposal(key)
    )
    by = {"up": -1, "down": 1}.get(request.POST.get("do", ""))
    try:
        if by is None:
            services.remove_step(known, person=person_of(request))
        else:
            services.move_step(known, person=person_of(request), by=by)
    except NotNow as refusal:
        messages.error(request, str(refusal))
    return redirect("desk:treatment", key=key)


@require_POST
@login_required
def put_forward(request: HttpRequest, key: UUID) -> HttpResponse:
    return enter(request, key, services.put_forward, "It waits for the head of department now.")


@require_POST
@login_required
def begin(request: HttpRequest, key: UUID) -> HttpResponse:
    return enter(request, key, services.begin, "The treatment is under way.")


@require_POST
@login_required
def decide(request: HttpRequest, key: UUID) -> HttpResponse:
    proposal = living_proposal(key)
    form = DecisionForm(request.POST)
    if form.is_valid():
        word = services.approve if request.POST.get("word") == "approve" else services.send_back
        try:
            word(proposal, person=person_of(request), reason=form.cleaned_data["reason"])
        except NotNow as refusal:
            messages.error(request, str(refusal))
            return redirect("desk:treatment", key=key)
        except ValidationError as refusal:
            form.add_error(None, refusal)
        else:
            return redirect("desk:treatment", key=key)
    return page_of(request, proposal, decision_form=form, status=400)


@login_required
def withdraw(request: HttpRequest, key: UUID) -> HttpResponse:
    """It is no longer proposed, and why."""
    proposal = living_proposal(key)
    services.check_may_treat(person_of(request))
    person, form = person_of(request), WithdrawForm(request.POST or None)

    def withdrawn() -> None:
        services.withdraw(proposal, person=person, reason=form.cleaned_data["reason"])

    if entered(request, form, withdrawn):
        messages.success(request, "The proposal is withdrawn.")
        return redirect("desk:treatment", key=key)
    return render(
        request,
        "desk/treatment/withdraw.html",
        {"object": proposal.object, "proposal": proposal, "form": form},
        status=400 if form.errors else 200,
    )


def enter(request: HttpRequest, key: UUID, change: Any, done: str) -> HttpResponse:
    """Bring a proposal into its next state, or say what is wanting."""
    try:
        change(living_proposal(key), person=person_of(request))
    except (NotNow, ValidationError) as refusal:
        for sentence in refusal.messages if isinstance(refusal, ValidationError) else [refusal]:
            messages.error(request, str(sentence))
    else:
        messages.success(request, done)
    return redirect("desk:treatment", key=key)


def page_of(
    request: HttpRequest,
    proposal: TreatmentProposal,
    *,
    decision_form: DecisionForm | None = None,
    status: int = 200,
) -> HttpResponse:
    shown: Treated = treated(proposal)
    person = person_of(request)
    is_own = proposal.proposed_by_id == person.pk
    reports = [listed(Report.Kind.PROPOSAL, proposal)]
    if shown.record is not None:
        reports.append(listed(Report.Kind.TREATMENT, shown.record))
    return render(
        request,
        "desk/treatment/treatment.html",
        {
            "object": proposal.object,
            "proposal": proposal,
            "shown": shown,
            "decision_form": decision_form or DecisionForm(),
            "may_decide": person.is_head and (not is_own or services.is_the_only_head(person)),
            "is_own": is_own,
            "may_withdraw": services.may_withdraw(proposal, person),
            "reports": reports,
            "is_open_report": any(one.open for one in reports),
        },
        status=status,
    )


def living_proposal(key: UUID) -> TreatmentProposal:
    return get_object_or_404(
        queries.proposals().select_related("examination__visit", "record__closed_by"), pk=key
    )


def step_form(
    request: HttpRequest,
    template: str,
    proposal: TreatmentProposal,
    step: ProposalStep | RecordStep | None,
    form: StepForm | DoneStepForm,
) -> HttpResponse:
    """The form of a step, planned or done, with the cautions of every kind of step."""
    return render(
        request,
        template,
        {
            "object": proposal.object,
            "proposal": proposal,
            "step": step,
            "form": form,
            "kinds": step_kinds(),
            "warnings": warnings_by_kind(),
        },
        status=400 if form.errors else 200,
    )


def entered(request: HttpRequest, form: BaseForm, enter: Callable[[], Any]) -> bool:
    """Whether what was sent is taken in by ``enter``; the form says why not."""
    if request.method != "POST" or not form.is_valid():
        return False
    try:
        enter()
    except (NotNow, ValidationError) as refusal:
        form.add_error(None, refusal if isinstance(refusal, ValidationError) else str(refusal))
        return False
    return True
