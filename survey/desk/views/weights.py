"""The department's weights: what holds, who would move, and saving a new version."""

from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied, ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from survey.desk.forms import WeightsForm
from survey.desk.views.session import person_of
from survey.triage import models, queries, rule, services

SHIFTS_SHOWN = 40


@login_required
def weights(request: HttpRequest) -> HttpResponse:
    """Everybody reads the weights; the head tries others and saves them with a reason."""
    current = queries.current_weights()
    given = request.POST if request.method == "POST" else request.GET
    form = WeightsForm(given or None, instance=models.Weights(**vars(queries.shares(current))))
    problem = ""
    if request.method == "POST":
        if not person_of(request).is_head:
            raise PermissionDenied("Only the head of department changes the weights.")
        if form.is_valid():
            try:
                services.save_weights(
                    form.weights(),
                    person=person_of(request),
                    reason=request.POST.get("reason", ""),
                )
            except ValidationError as refusal:
                problem = " ".join(refusal.messages)
            else:
                messages.success(request, "The new weights hold from now on.")
                return redirect("desk:weights")
    is_wrong = bool(problem or form.errors)
    return render(
        request,
        "desk/weights.html",
        {
            "form": form,
            "current": current,
            "versions": models.Weights.objects.select_related("saved_by"),
            "problem": problem,
            **moves(form, queries.shares(current)),
        },
        status=400 if is_wrong and request.method == "POST" else 200,
    )


@require_safe
@login_required
def preview(request: HttpRequest) -> HttpResponse:
    """The part of the page that says who moves, for weights that are only tried."""
    form = WeightsForm(request.GET)
    return render(
        request, "desk/_shifts.html", moves(form, queries.shares(queries.current_weights()))
    )


def moves(form: WeightsForm, current: rule.Weights) -> dict[str, Any]:
    """Who would move under the weights of the form; nobody while it shows what holds now."""
    if not form.is_bound:
        return {"tried": None, "shares": most_points(current)}
    if not form.is_valid():
        return {"tried": None, "shares": None, "problems": form.errors}
    tried = form.weights()
    shifts = queries.preview(tried)
    return {
        "tried": tried,
        "shares": most_points(tried),
        "shifts": shifts[:SHIFTS_SHOWN],
        "shifts_more": max(0, len(shifts) - SHIFTS_SHOWN),
        "moved": len(shifts),
    }


def most_points(weights: rule.Weights) -> list[tuple[str, float]]:
    """Each part's name, and the points out of 100 it can give."""
    return [
        (rule.PART_NAMES[part], most / 10) for part, most in rule.maxima_tenths(weights).items()
    ]
