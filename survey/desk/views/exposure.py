"""Light: how long an object hung and how brightly, and what may still be used of its limit."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from survey.catalogue.models import Object
from survey.desk.exposure_forms import DisplayForm, LimitForm, ProposalForm, ResponsivityForm
from survey.desk.exposure_plot import plot_of
from survey.desk.exposure_words import advice
from survey.desk.lamp import duration_in_words, lamp_uses
from survey.desk.views.objects import living_object
from survey.desk.views.session import person_of
from survey.loans import queries, services
from survey.loans.models import Display, Loan

MLX = 1_000_000


@require_safe
@login_required
def light_page(request: HttpRequest, key: UUID) -> HttpResponse:
    """The history, the year, and a proposal when the address carries one."""
    item = living_object(key)
    sent = {"proposal": proposal_form(item, request.GET)} if "lux" in request.GET else {}
    return render(request, "desk/exposure/light.html", about(item, sent))


@require_POST
@login_required
def add_display(request: HttpRequest, key: UUID) -> HttpResponse:
    item = living_object(key)
    services.check_may_note(person_of(request))
    form = display_form(request.POST, Display(object=item))
    if form.is_valid():
        try:
            services.note_display(item, person=person_of(request), **form.cleaned_data)
        except ValidationError as refusal:
            form.add_error(None, refusal)
        else:
            messages.success(request, "The display is noted.")
            return redirect("desk:light", key=item.pk)
    return render(request, "desk/exposure/light.html", about(item, {"display": form}), status=400)


@require_POST
@login_required
def set_category(request: HttpRequest, key: UUID) -> HttpResponse:
    item = living_object(key)
    services.check_may_note(person_of(request))
    form = ResponsivityForm(request.POST, auto_id="category_%s")
    if form.is_valid():
        try:
            services.set_responsivity(item, person=person_of(request), **form.cleaned_data)
        except ValidationError as refusal:
            form.add_error(None, refusal)
        else:
            messages.success(request, "The category is set.")
            return redirect("desk:light", key=item.pk)
    return render(request, "desk/exposure/light.html", about(item, {"category": form}), status=400)


@login_required
def edit_display(request: HttpRequest, key: int) -> HttpResponse:
    display = living_display(key)
    services.check_may_note(person_of(request))
    form = display_form(
        request.POST if request.method == "POST" else None, living_display(display.pk)
    )
    if request.method == "POST" and form.is_valid():
        try:
            services.correct_display(display, person=person_of(request), **form.cleaned_data)
        except ValidationError as refusal:
            form.add_error(None, refusal)
        else:
            messages.success(request, "The display is corrected.")
            return redirect("desk:light", key=display.object_id)
    return render(
        request,
        "desk/exposure/display.html",
        {"object": display.object, "display": display, "form": form},
        status=400 if form.errors else 200,
    )


@require_POST
@login_required
def remove_display(request: HttpRequest, key: int) -> HttpResponse:
    display = living_display(key)
    services.remove_display(display, person=person_of(request))
    messages.success(request, "The display is taken out. The audit trail keeps what it said.")
    return redirect("desk:light", key=display.object_id)


@login_required
def limits_page(request: HttpRequest) -> HttpResponse:
    """Everybody reads the limits; the head sets the department's own, with a reason."""
    form = LimitForm(request.POST if request.method == "POST" else None)
    if request.method == "POST":
        services.check_may_set_limits(person_of(request))
        if form.is_valid():
            try:
                services.set_limit(person=person_of(request), **form.cleaned_data)
            except ValidationError as refusal:
                form.add_error(None, refusal)
            else:
                messages.success(request, "The new limits hold from now on.")
                return redirect("desk:light-limits")
    return render(
        request,
        "desk/exposure/limits.html",
        {
            "form": form,
            "limits": queries.limits(),
            "versions": queries.versions(),
            "blue_wool": queries.blue_wool(),
            "data": queries.data(),
        },
        status=400 if form.errors else 200,
    )


def about(item: Object, sent: dict[str, Any]) -> dict[str, Any]:
    """sent  the form that was just sent, by its name: proposal, display or category"""
    today = timezone.localdate()
    light = queries.light_of(item, today)
    limit = light.limit
    uses = lamp_uses(item)
    form = sent.get("proposal")
    spell = form.instance.spell if form is not None and form.is_valid() else None
    years = queries.propose(light, spell) if spell else []
    loan = None if form else queries.loan_without_display(item, light, today)
    return {
        "object": item,
        "light": light,
        "limit": limit,
        "today": today,
        "is_planned": any(display.last_day > today for display in light.displays),
        "this_year": light.balance(today.year),
        "years": [
            (year, light.balance(year)) for year in sorted({*light.years, today.year}, reverse=True)
        ],
        "plot": plot_of(
            light.years,
            {one.year: one.proposed for one in years},
            limit.lux_hours if limit else None,
            today.year,
        ),
        "spell": spell,
        "proposed": years,
        "advice": advice(light, spell, years) if spell else [],
        "proposal_form": form or proposal_form(item, None, limit.lux if limit else None, loan),
        "proposed_by": loan,
        "display_form": sent.get("display") or display_form(None, Display(object=item)),
        "category_form": sent.get("category") or ResponsivityForm(auto_id="category_%s"),
        "lamp": [(one, duration_in_words(one.lamp_s)) for one in uses],
        "lamp_in_all": duration_in_words(sum(one.lamp_s for one in uses)),
        "blue_wool": [
            entry
            | {
                "percent_with": light.so_far.lux_hours / MLX / entry["with_ultraviolet"] * 100,
                "percent_without": light.so_far.lux_hours
                / MLX
                / entry["without_ultraviolet"]
                * 100,
            }
            for entry in (queries.blue_wool(limit.category["code"]) if limit else [])
        ],
        "data": queries.data(),
    }


def proposal_form(
    item: Object, given: Any, lux: float | None = None, loan: Loan | None = None
) -> ProposalForm:
    """lux and loan: where it begins from; a loan's days, and its light if that was agreed on."""
    initial: dict[str, Any] = {"lux": lux, "days_a_week": 7, "uncertainty_percent": 10}
    if loan is not None:
        agreed = lux if loan.most_lux is None else loan.most_lux
        initial |= {"first_day": loan.first_day, "last_day": loan.last_day, "lux": agreed}
    return ProposalForm(
        given, instance=Display(object=item), initial=initial, auto_id="proposal_%s"
    )


def display_form(given: Any, display: Display) -> DisplayForm:
    return DisplayForm(given, instance=display, auto_id="display_%s")


def living_display(key: int) -> Display:
    return get_object_or_404(
        Display.objects.select_related("object"), pk=key, object__deleted_at=None
    )
