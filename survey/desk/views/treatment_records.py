"""The record of a treatment under way: steps done, photographs chosen, and its end."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from survey.desk.treatment_forms import CloseForm, DoneStepForm, MomentForm
from survey.desk.views.session import person_of
from survey.desk.views.treatments import entered, living_proposal, step_form
from survey.examination.models import Examination
from survey.reports.pictures import Plate, plates_of
from survey.treatment import queries, recording, services
from survey.treatment.models import (
    ChosenPhotograph,
    RecordStep,
    TreatmentProposal,
    TreatmentRecord,
)
from survey.treatment.trouble import NotNow
from survey.triage.services import mark_done

# What a step as it was done begins with, of the one that was proposed.
CARRIED_OVER = services.STEP


@login_required
def done_step(request: HttpRequest, key: UUID, step: UUID | None = None) -> HttpResponse:
    """Note a step that was done, begun with the words of a proposed one, or put one right."""
    record = record_of(key)
    services.check_may_treat(person_of(request))
    known = get_object_or_404(RecordStep, pk=step, record=record) if step else None
    steps = record.proposal.steps.all()
    form = DoneStepForm(
        request.POST or None, instance=known, initial=first_words(request, record), steps=steps
    )
    if entered(
        request,
        form,
        lambda: recording.note_step(record, known, person=person_of(request), **form.cleaned_data),
    ):
        return redirect("desk:treatment", key=key)
    return step_form(request, "desk/treatment/done_step.html", record.proposal, known, form)


@require_POST
@login_required
def take_out_step(request: HttpRequest, key: UUID, step: UUID) -> HttpResponse:
    known = get_object_or_404(
        RecordStep.objects.select_related("record__proposal"), pk=step, record=record_of(key)
    )
    try:
        recording.take_out_step(known, person=person_of(request))
    except NotNow as refusal:
        messages.error(request, str(refusal))
    return redirect("desk:treatment", key=key)


@login_required
def choose_photographs(request: HttpRequest, key: UUID) -> HttpResponse:
    """Choose among the photographs of the object's examinations."""
    record = record_of(key)
    services.check_may_treat(person_of(request))
    photographs = list(queries.photographs_for(record.proposal))
    form = MomentForm(request.POST or None, initial={"moment": request.GET.get("moment", "before")})
    ticked = set(request.POST.getlist("photograph"))
    chosen = [one for one in photographs if str(one.pk) in ticked]
    if entered(
        request,
        form,
        lambda: recording.choose(
            record, chosen, person=person_of(request), moment=form.cleaned_data["moment"]
        ),
    ):
        return redirect("desk:treatment", key=key)
    return render(
        request,
        "desk/treatment/photographs.html",
        {
            "object": record.proposal.object,
            "proposal": record.proposal,
            "form": form,
            "groups": _groups({one.examination.pk: one.examination for one in photographs}),
            "moments": {one.photograph_id: one.get_moment_display() for one in record.chosen.all()},
        },
        status=400 if form.errors else 200,
    )


@require_POST
@login_required
def put_back(request: HttpRequest, key: UUID, chosen: int) -> HttpResponse:
    known = get_object_or_404(
        ChosenPhotograph.objects.select_related("record__proposal"),
        pk=chosen,
        record=record_of(key),
    )
    try:
        recording.put_back(known, person=person_of(request))
    except NotNow as refusal:
        messages.error(request, str(refusal))
    return redirect("desk:treatment", key=key)


@login_required
def close(request: HttpRequest, key: UUID) -> HttpResponse:
    """The end of it. What was recommended, and is carried out by it, leaves its queue."""
    record = record_of(key)
    person = person_of(request)
    services.check_may_treat(person)
    form = CloseForm(request.POST or None)

    @transaction.atomic
    def enter() -> None:
        recording.close(record, person=person, **form.cleaned_data)
        work = record.proposal.recommendation
        if work is not None:
            mark_done(work, person=person)

    if entered(request, form, enter):
        messages.success(request, "The record is closed.")
        return redirect("desk:treatment", key=key)
    return render(
        request,
        "desk/treatment/close.html",
        {"object": record.proposal.object, "proposal": record.proposal, "form": form},
        status=400 if form.errors else 200,
    )


def record_of(key: UUID) -> TreatmentRecord:
    """The record of the treatment with this proposal."""
    proposal: TreatmentProposal = living_proposal(key)
    try:
        return proposal.record
    except TreatmentRecord.DoesNotExist:
        raise Http404 from None


def first_words(request: HttpRequest, record: TreatmentRecord) -> dict[str, Any]:
    """What a new step begins with: today, and the words of the proposed one that it carries out."""
    proposed = request.GET.get("step", "")
    words: dict[str, Any] = {"done_on": timezone.localdate()}
    step = next((one for one in record.proposal.steps.all() if str(one.pk) == proposed), None)
    if step is not None:
        words |= {"proposed": step} | {name: getattr(step, name) for name in CARRIED_OVER}
    return words


def _groups(examinations: dict[Any, Examination]) -> list[tuple[Examination, list[Plate]]]:
    plates = plates_of(examinations)
    return [(one, plates[key]) for key, one in examinations.items()]
