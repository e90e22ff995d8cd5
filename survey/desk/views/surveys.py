"""Surveys of the collection: designing a sample, its walks, and what they tell."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_POST, require_safe

from survey.catalogue.queries import STEP, location_paths
from survey.collection import queries, services
from survey.collection.design import CannotSample
from survey.collection.models import CollectionSurvey, SurveyPlace
from survey.collection.results import Cell, Line, Reached, Results, results_of
from survey.desk import survey_plots
from survey.desk.survey_forms import DesignForm, HandOutForm, MissingForm
from survey.desk.survey_table import csv_of
from survey.desk.survey_words import cautions
from survey.desk.views.session import person_of
from survey.examination.models import Visit


@require_safe
@login_required
def survey_list(request: HttpRequest) -> HttpResponse:
    return render(request, "desk/surveys/list.html", {"surveys": queries.surveys()})


@login_required
def design(request: HttpRequest) -> HttpResponse:
    """What a plan would draw, shown before anything is kept; sent by POST, it is drawn."""
    services.check_may_design(person_of(request))
    given = request.POST if request.method == "POST" else request.GET
    form = DesignForm(given) if "name" in given else DesignForm.beginning()
    if request.method == "POST" and form.is_valid():
        try:
            survey = services.draw_survey(
                form.plan(), name=form.cleaned_data["name"], person=person_of(request)
            )
        except (ValidationError, CannotSample) as refusal:
            form.add_error(None, refusal if isinstance(refusal, ValidationError) else str(refusal))
        else:
            messages.success(request, "The sample is drawn. Hand it out as walks.")
            return redirect("desk:survey-walk", key=survey.pk)
    proposal = form.proposal if form.is_bound and form.is_valid() else None
    return render(
        request,
        "desk/surveys/design.html",
        {"form": form, "proposal": proposal},
        status=400 if request.method == "POST" else 200,
    )


@require_safe
@login_required
def survey_page(request: HttpRequest, key: int) -> HttpResponse:
    """What the survey tells so far."""
    found = results_of(known(key))
    shown: dict[str, Any] = {}
    if found.seen:
        shown = {
            "grades_plot": survey_plots.plot_of_grades(found),
            "damage_plot": survey_plots.plot_of_damage(found),
            "hours_plot": survey_plots.plot_of_hours(found),
            "boxes_plot": survey_plots.plot_of_boxes(found),
        }
    return render(
        request,
        "desk/surveys/survey.html",
        {
            "survey": found.survey,
            "found": found,
            "cautions": cautions(found),
            "misses": f"{100 - found.survey.confidence_percent:g}",
            "grade_rows": by_part(found, found.grades),
            "work_rows": by_part(found, (found.hours, found.rehouse, found.boxes)),
            **shown,
        },
    )


@require_safe
@login_required
def survey_table(request: HttpRequest, key: int) -> HttpResponse:
    found = results_of(known(key))
    # The mark at the beginning tells spreadsheets that it is UTF-8.
    answer = HttpResponse("\ufeff" + csv_of(found), content_type="text/csv; charset=utf-8")
    name = slugify(found.survey.name) or "survey"
    answer["Content-Disposition"] = f'attachment; filename="{name}.csv"'
    return answer


@require_safe
@login_required
def walk(request: HttpRequest, key: int) -> HttpResponse:
    """The sample in shelf order: walks that are handed out, and what is left."""
    return walk_page(request, known(key))


@require_POST
@login_required
def hand_out(request: HttpRequest, key: int) -> HttpResponse:
    survey = known(key)
    services.check_may_design(person_of(request))
    form = HandOutForm(request.POST)
    if form.is_valid():
        try:
            visit = services.hand_out(survey, person=person_of(request), **form.cleaned_data)
        except ValidationError as refusal:
            form.add_error(None, refusal)
        else:
            messages.success(
                request, f"“{visit.name}” is handed to {visit.person.name} as a visit."
            )
            return redirect("desk:survey-walk", key=survey.pk)
    return walk_page(request, survey, form, status=400)


@require_POST
@login_required
def take_back(request: HttpRequest, key: int, visit: UUID) -> HttpResponse:
    survey = known(key)
    try:
        services.take_back(survey, get_object_or_404(Visit, pk=visit), person=person_of(request))
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
    else:
        messages.success(request, "The walk is taken back. Its objects can be handed out again.")
    return redirect("desk:survey-walk", key=survey.pk)


@login_required
def missing(request: HttpRequest, key: int) -> HttpResponse:
    """Say why one object of a walk could not be examined."""
    services.check_may_design(person_of(request))
    place = get_object_or_404(
        SurveyPlace.objects.select_related("object", "survey", "stop"), pk=key, stop__isnull=False
    )
    assert place.stop is not None
    form = MissingForm(
        request.POST if request.method == "POST" else None, initial={"why": place.stop.missing}
    )
    if request.method == "POST" and form.is_valid():
        try:
            services.say_missing(place, person=person_of(request), why=form.cleaned_data["why"])
        except ValidationError as refusal:
            form.add_error(None, refusal)
        else:
            messages.success(request, f"{place.object.accession_number}: noted.")
            return redirect("desk:survey-walk", key=place.survey_id)
    return render(
        request,
        "desk/surveys/missing.html",
        {"object": place.object, "survey": place.survey, "form": form},
        status=400 if form.errors else 200,
    )


@require_POST
@login_required
def remove(request: HttpRequest, key: int) -> HttpResponse:
    survey = known(key)
    try:
        services.remove_survey(survey, person=person_of(request))
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
        return redirect("desk:survey-walk", key=survey.pk)
    messages.success(request, "The survey is taken out. The audit trail keeps that it was.")
    return redirect("desk:surveys")


def walk_page(
    request: HttpRequest,
    survey: CollectionSurvey,
    form: HandOutForm | None = None,
    status: int = 200,
) -> HttpResponse:
    stands = queries.stands_of(survey)
    left = queries.not_handed_out(stands)
    return render(
        request,
        "desk/surveys/walk.html",
        {
            "survey": survey,
            "parts": queries.parts_of(stands),
            "left": left,
            "drawn": len(stands),
            "paths": paths_within(survey),
            "form": form or HandOutForm(initial={"to": request.user.pk, "number": len(left)}),
            "printed_at": timezone.localtime(),
        },
        status=status,
    )


def paths_within(survey: CollectionSurvey) -> dict[UUID, str]:
    """Every place in full, but without what all places of the survey have in common."""
    paths = location_paths()
    above = paths.get(survey.branch_id, "") + STEP if survey.branch_id else ""
    return {key: path.removeprefix(above) for key, path in paths.items()}


def by_part(found: Results, lines: Sequence[Line]) -> list[tuple[Reached, list[Cell]]]:
    """Each part of the store with its cells of these lines."""
    return [(part, [line.parts[place] for line in lines]) for place, part in enumerate(found.parts)]


def known(key: int) -> CollectionSurvey:
    return get_object_or_404(
        CollectionSurvey.objects.select_related("branch", "designed_by"), pk=key
    )
