"""The structure of the paper: what was counted, and a person's corrections beside it."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from survey.desk.forms import ChainLinesForm, LaidCountForm, MakeForm
from survey.desk.grounds import ground_of
from survey.desk.intervals import plot_of
from survey.desk.lying import sheet_of
from survey.desk.readings import shown
from survey.desk.sides import side_of, sides
from survey.desk.told import Told, check_may_correct, framed, told
from survey.desk.views.session import person_of
from survey.reading import services
from survey.reading.models import Reading
from survey.reading.trouble import CannotCorrect
from survey.reports.drawing import Ground
from survey.reports.paper_facts import figures

FORMS: dict[str, Any] = {"chains": ChainLinesForm, "count": LaidCountForm, "make": MakeForm}


@require_safe
@login_required
def paper_page(request: HttpRequest, key: UUID) -> HttpResponse:
    seen = told(request, key)
    return render(
        request, "desk/lights/paper.html", about(seen, side_of(seen, request.GET.get("side")), {})
    )


@require_POST
@login_required
def correct(request: HttpRequest, key: UUID) -> HttpResponse:
    """Put chain lines, the count of laid lines or the kind of paper right."""
    seen = told(request, key)
    check_may_correct(seen)
    side = side_of(seen, request.POST.get("side"))
    what = request.POST.get("what", "")
    reading = get_object_or_404(
        Reading.objects.filter(examination=seen.examination, kind=Reading.Kind.PAPER),
        pk=request.POST.get("reading"),
    )
    form = FORMS.get(what, MakeForm)(request.POST, prefix=what)
    if form.is_valid():
        try:
            services.correct(
                reading, person_of(request), form.changes(), form.cleaned_data["reason"]
            )
        except CannotCorrect as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "Corrected. What was read stays beside it.")
            return redirect(f"{reverse('desk:paper', args=[seen.examination.pk])}?side={side}")
    return render(request, "desk/lights/paper.html", about(seen, side, {what: form}), status=400)


def about(seen: Told, side: str, sent: dict[str, Any]) -> dict[str, Any]:
    """sent  the form that was just sent and not taken, by its name"""
    read = shown(seen, Reading.Kind.PAPER, side)
    result = read.result
    context = framed(seen, "paper") | {
        "side": side,
        "sides": sides(seen, side),
        "reading": read,
        "result": result,
    }
    if result is None or read.reading is None:
        return context
    ground = ground_of(seen, result["photograph"])
    angle = result["chain_angle_deg"]
    return context | {
        "ground": ground,
        "lines": drawn(ground, result) if ground else [],
        "sheet": sheet_of(seen.examination),
        "angle": angle["value"] if angle else 0.0,
        # What the reading's own sentence does not say already.
        "why": " ".join(
            said
            for said in (result["why"], result["chains_why"])
            if said and said not in read.reading.sentence
        ),
        "figures": figures(result, read.as_read),
        "plot": plot_of(
            [(one["mm"], one["u_mm"]) for one in result["intervals"]],
            result["mean_mm"]["value"] if result["mean_mm"] else None,
        ),
        "chains_form": sent.get("chains") or ChainLinesForm.of(result, prefix="chains"),
        "count_form": sent.get("count") or LaidCountForm(prefix="count"),
        "make_form": sent.get("make") or MakeForm(prefix="make"),
    }


def drawn(ground: Ground, result: dict[str, Any]) -> list[dict[str, Any]]:
    """What was counted, as lines over the photograph, a chain line's number near its upper end."""
    lines = []
    for one in result["overlay"]:
        (x1, y1), (x2, y2) = ends = [ground.place(point) for point in one["points"]]
        (left, top), (right, foot) = sorted(ends, key=lambda end: end[1])
        is_chain = one["kind"] == "chain"
        # Words about a stretch stand below it, or above one that lies low.
        is_low = foot > 0.6 * ground.height
        share, beside = (0.03, 0.0) if is_chain else (0.0, -1.0) if is_low else (1.0, 1.0)
        lines.append(
            {
                "kind": one["kind"],
                "label": one["label"],
                "x1": x1, "y1": y1, "x2": x2, "y2": y2,
                "x": left + share * (right - left),
                "y": top + share * (foot - top) + beside * ground.text_size,
            }
        )  # fmt: skip
    return lines
