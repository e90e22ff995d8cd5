"""The week plan: who does what on which day, what will be late, and pins."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from survey.desk.plan_chart import filled, weeks_of
from survey.desk.plan_forms import PinForm
from survey.desk.plan_words import (
    day_of,
    how_good,
    in_short,
    proven_in_words,
    shared_in_words,
    way_in_words,
    why_not_planned,
)
from survey.desk.views.session import person_of
from survey.desk.work_forms import sentences
from survey.triage import planning, queries
from survey.triage.acting import GONE
from survey.triage.board import Row
from survey.triage.handing import colleagues
from survey.triage.plan.problem import Trouble
from survey.triage.week import Pin, WeekPlan
from survey.triage.week_input import WEEKS, WeekInput


@dataclass(frozen=True)
class Told:
    """Something wrong, and where it is mended."""

    sentence: str
    address: str
    action: str


@require_safe
@login_required
def plan_page(request: HttpRequest) -> HttpResponse:
    """The plan that holds; ``week`` of the address chooses the week, or all of them."""
    return page_of(request)


def page_of(request: HttpRequest, problem: str = "") -> HttpResponse:
    today = timezone.localdate()
    given = planning.input_now()
    plan = planning.holding()
    failed = WeekPlan.objects.order_by("-asked_at").first()
    pins = list(
        Pin.objects.filter(ended_at=None).select_related("person", "by").order_by("day", "pk")
    )
    told: dict[str, Any] = {}
    if plan is not None and plan.result is not None:
        told = about(plan, request.GET.get("week", ""), {str(pin.piece_id) for pin in pins})
    return render(
        request,
        "desk/plan/plan.html",
        {
            "today": today,
            "plan": plan,
            "open": planning.being_made(),
            "failed": failed if failed and failed.state == WeekPlan.State.FAILED else None,
            "is_behind": plan is not None and plan.rests_on != given.digest,
            "has_solver": planning.has_solver(),
            "troubles": [mended(one, given) for one in given.troubles],
            "held": [(one.row, why_not_planned(one)) for one in given.held],
            "pins": [(pin, name_of(given, pin)) for pin in pins],
            "weeks": WEEKS,
            "problem": problem,
            **told,
        },
        status=400 if problem else 200,
    )


def about(plan: WeekPlan, week: str, pinned: set[str]) -> dict[str, Any]:
    """What a plan says."""
    result = plan.result
    assert result is not None
    today = timezone.localdate()
    weeks = weeks_of(result, WEEKS, today, pinned)
    chosen = next((one for one in weeks if str(one.number) == week), weeks[0] if weeks else None)
    return {
        "all_weeks": weeks,
        "chosen": None if week == "all" else chosen,
        "shown": weeks if week == "all" or chosen is None else [chosen],
        "how_good": how_good(result),
        "proven": proven_in_words(result),
        "late": [
            {
                **one,
                "in_short": in_short(one["days"]),
                "last": day_of(result, one["last_day"]),
                "due": day_of(result, one["last_day"] + one["setting_days"]),
                "ways": [way_in_words(result, one, way) for way in one["ways"]],
            }
            for one in result["late"]
        ],
        "risky": sorted(
            (one for one in result["work"] if one["late_if_high"]),
            key=lambda one: (-one["late_if_high"], one["name"]),
        ),
        "unplaced": result["unplaced"],
        # Plans made before this was looked at do not have it.
        "shared": [
            shared_in_words(result, one)
            for one in result.get("shared", ())
            if one["day"] < WEEKS * 7 and day_of(result, one["day"]) >= today
        ],
        "missing": len(result["missing"]),
        "filled": filled(result, WEEKS),
    }


def mended(trouble: Trouble, given: WeekInput) -> Told:
    """The trouble with the page on which it is mended."""
    row = given.rows.get(trouble.job)
    if row is None:
        address = (
            reverse("desk:plan-person", args=[trouble.worker])
            if trouble.worker
            else reverse("desk:plan-people")
        )
        return Told(trouble.sentence, address, "Hours and skills")
    if trouble.about == "date":
        return Told(trouble.sentence, reverse("desk:object", args=[row.object.pk]), "The object")
    if trouble.about == "pin":
        return Told(trouble.sentence, reverse("desk:pin", args=[row.key]), "Pin")
    if trouble.about == "loan":
        return Told(trouble.sentence, reverse("desk:work", args=[row.key]), "The work")
    return Told(trouble.sentence, reverse("desk:estimate", args=[row.key]), "Estimate")


def name_of(given: WeekInput, pin: Pin) -> str:
    row = given.rows.get(str(pin.piece_id))
    row = row or next((one.row for one in given.held if one.row.key == pin.piece_id), None)
    return row.name if row is not None else "Work that is no longer open"


@require_POST
@login_required
def make_plan(request: HttpRequest) -> HttpResponse:
    """Make a plan; the answer comes when it is there. ``plan_state`` tells how far it is."""
    try:
        plan = planning.make(person_of(request), refit=request.POST.get("refit") == "yes")
    except ValidationError as refusal:
        return page_of(request, " ".join(sentences(refusal)))
    if plan.state == WeekPlan.State.DONE:
        messages.success(request, "The plan is made.")
    return redirect("desk:plan")


@require_safe
@login_required
def plan_state(request: HttpRequest) -> HttpResponse:
    """How far the newest plan is, for the page's script."""
    planning.being_made()
    plan = WeekPlan.objects.order_by("-asked_at").first()
    if plan is None:
        return JsonResponse({"state": "none", "progress": 0, "step": "", "sentence": ""})
    return JsonResponse(
        {
            "state": plan.state,
            "progress": plan.progress,
            "step": plan.step,
            "sentence": plan.sentence,
        }
    )


@login_required
def pin_work(request: HttpRequest, key: UUID) -> HttpResponse:
    """Pin a piece of work to a person and a day, and fit the rest around it.

    A script is answered in JSON.
    """
    planning.check_may_decide(person_of(request))
    row = open_row_or_404(key)
    form = PinForm(
        request.POST if request.method == "POST" else None,
        people=colleagues(),
        initial=standing(key),
    )
    problems: list[str] = []
    if request.method == "POST":
        problems = pinned(request, key, form)
        if request.headers.get("Accept") == "application/json":
            if problems:
                return JsonResponse({"problem": " ".join(problems)}, status=400)
            return JsonResponse({"said": f"{row.name}, is pinned, and the rest is fitted."})
        if not problems:
            messages.success(request, f"{row.name}, is pinned, and the rest is fitted around it.")
            return redirect("desk:plan")
    return render(
        request,
        "desk/plan/pin.html",
        {
            "row": row,
            "object": row.object,
            "form": form,
            "problems": problems,
            "pin": Pin.objects.filter(piece=key, ended_at=None).select_related("person").first(),
        },
        status=400 if problems else 200,
    )


def pinned(request: HttpRequest, key: UUID, form: PinForm) -> list[str]:
    """Pin it and fit the plan again. Returns why not, in sentences; the pin is then not kept."""
    if not form.is_valid():
        return sentences(form)
    person = person_of(request)
    before = Pin.objects.filter(piece=key, ended_at=None).select_related("person").first()
    try:
        planning.pin(key, person=person, to=form.chosen, day=form.cleaned_data["day"])
        plan = planning.make(person, refit=planning.holding() is not None)
    except ValidationError as refusal:
        return sentences(refusal)
    if plan.state == WeekPlan.State.DONE:
        return []
    planning.unpin(key, person=person)
    if before is not None:
        planning.pin(key, person=person, to=before.person, day=before.day)
    return [plan.sentence]


@require_POST
@login_required
def unpin_work(request: HttpRequest, key: UUID) -> HttpResponse:
    """Take a pin away, and fit the rest."""
    person = person_of(request)
    try:
        planning.unpin(key, person=person)
        planning.make(person, refit=planning.holding() is not None)
    except ValidationError as refusal:
        return page_of(request, " ".join(sentences(refusal)))
    messages.success(request, "The pin is taken away, and the rest is fitted.")
    return redirect("desk:plan")


def standing(key: UUID) -> dict[str, Any]:
    """Where the plan that holds has a piece of work."""
    plan = planning.holding()
    for one in plan.result["work"] if plan is not None and plan.result is not None else ():
        if one["key"] == str(key) and plan is not None and plan.result is not None:
            return {"person": one["person"], "day": day_of(plan.result, one["begins"])}
    return {"day": timezone.localdate()}


def open_row_or_404(key: UUID) -> Row:
    row = queries.board().by_key.get(key)
    if row is None:
        raise Http404(GONE)
    return row
