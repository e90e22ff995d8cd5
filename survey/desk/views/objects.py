"""Objects: the list, one object with all that is known of it, its entry, its label."""

from collections import defaultdict
from datetime import datetime
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_POST, require_safe

from survey.catalogue.labels import qr_label
from survey.catalogue.models import Location, Object
from survey.catalogue.queries import location_paths, search_objects
from survey.catalogue.services import move_object
from survey.desk.evidence import evidence_of
from survey.desk.forms import MoveForm, NeedForm, ObjectForm
from survey.desk.questions import questions_of
from survey.desk.told import links
from survey.desk.views.queues import standing_in
from survey.desk.views.session import person_of
from survey.examination.models import Examination
from survey.loans.models import Loan
from survey.loans.queries import light_of
from survey.reports.dossier import dossier_of
from survey.sync.services import Refused, record_change
from survey.treatment.queries import look_again, treatments_of
from survey.triage import queries, services
from survey.triage.board import Board
from survey.triage.gather import standings
from survey.triage.models import Need

OBJECTS_A_PAGE = 50
LONG_AGO = timezone.make_aware(datetime(1900, 1, 1))


@require_safe
@login_required
def object_list(request: HttpRequest) -> HttpResponse:
    text = request.GET.get("text", "").strip()
    page = Paginator(search_objects(text), OBJECTS_A_PAGE).get_page(request.GET.get("page"))
    return render(
        request, "desk/objects.html", {"text": text, "page": page, "paths": location_paths()}
    )


@require_safe
@login_required
def object_page(request: HttpRequest, key: UUID) -> HttpResponse:
    return render(request, "desk/object.html", about(living_object(key)))


@require_POST
@login_required
def add_need(request: HttpRequest, key: UUID) -> HttpResponse:
    item = living_object(key)
    form = NeedForm(request.POST)
    if not form.is_valid():
        return render(request, "desk/object.html", about(item) | {"need_form": form}, status=400)
    services.add_need(item, person=person_of(request), **form.cleaned_data)
    return redirect("desk:object", key=item.pk)


@require_POST
@login_required
def remove_need(request: HttpRequest, key: int) -> HttpResponse:
    need = get_object_or_404(Need.objects.select_related("object"), pk=key)
    services.remove_need(need, person=person_of(request))
    return redirect("desk:object", key=need.object_id)


@login_required
def edit_object(request: HttpRequest, key: UUID) -> HttpResponse:
    """Correct the catalogue entry. Only what was changed is sent on, so others' words stand."""
    item = living_object(key)
    check_may_edit(request)
    form = ObjectForm(
        request.POST if request.method == "POST" else None, instance=living_object(key)
    )
    if request.method == "POST" and form.is_valid():
        changed = {name: form.cleaned_data[name] for name in form.changed_data}
        try:
            if changed:
                record_change("object", item, changed, person_of(request))
        except Refused as refusal:
            take_back(form, refusal)
        else:
            messages.success(request, "The catalogue entry is saved.")
            return redirect("desk:object", key=item.pk)
    return render(
        request,
        "desk/object_edit.html",
        {"object": item, "form": form},
        status=400 if form.errors else 200,
    )


@login_required
def move(request: HttpRequest, key: UUID) -> HttpResponse:
    item = living_object(key)
    check_may_edit(request)
    form = MoveForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            move_object(
                item,
                to_location=location_of(given["to_location"]),
                to_place=given["to_place"],
                note=given["note"],
                person=person_of(request),
            )
        except Refused as refusal:
            take_back(form, refusal)
        else:
            return redirect("desk:object", key=item.pk)
    return render(
        request,
        "desk/move.html",
        {"object": item, "form": form, "paths": location_paths()},
        status=400 if form.errors else 200,
    )


@require_safe
@login_required
def label(request: HttpRequest, key: UUID) -> HttpResponse:
    item = living_object(key)
    # The drawing is made here from modules and an escaped title, not taken from a person.
    return render(
        request,
        "desk/label.html",
        {"object": item, "drawing": mark_safe(qr_label(item.accession_number))},
    )


def about(item: Object) -> dict[str, Any]:
    """All that the page of one object shows."""
    today = timezone.localdate()
    light = light_of(item, today)
    board = queries.board()
    examinations = list(
        Examination.objects.filter(object=item, deleted_at=None)
        .select_related("visit", "examiner")
        .order_by("-started_at", "-id")
    )
    urgent = next((one for one in board.act_now if one.standing.object.pk == item.pk), None)
    standing = next(iter(standings(today, [item.pk])), None)
    dossier = dossier_of(standing.examination) if standing else None
    keys = [item.pk, *(one.pk for one in examinations)]
    if dossier:
        keys += [one.observation.pk for one in dossier.observations]
        keys += [plate.photograph.pk for plate in dossier.plates]
        keys += [work.recommendation.pk for work in dossier.work]
        keys += [one.pk for one in dossier.measurements]
        keys += [one.watermark.pk for one in dossier.watermarks]
    return {
        "object": item,
        "paths": location_paths(),
        "dossier": dossier,
        "newer": standing.newer if standing else (),
        "examinations": examinations,
        "moves": item.moves.filter(deleted_at=None).select_related("person"),
        "needs": item.needs.all(),
        "need_form": NeedForm(),
        "urgent": urgent,
        "states": states_of(board, item),
        "evidence": evidence_of([standing], {standing.examination.pk: dossier.plates})
        if standing and dossier
        else {},
        "cleared": queries.cleared(since=LONG_AGO, objects=[item.pk]),
        "questions": questions_of(keys),
        "links": links(),
        "treatments": treatments_of(item),
        "look_again": next(iter(look_again([item.pk])), None),
        "light": light,
        "light_this_year": light.balance(today.year),
        "today": today,
        "loans": Loan.objects.filter(
            loaned__object=item, loaned__deleted_at=None, deleted_at=None
        ).distinct(),
    }


def states_of(board: Board, item: Object) -> dict[UUID, list[dict[str, Any]]]:
    """Where the open work on an object stands, by the key of what was recommended."""
    found: dict[UUID, list[dict[str, Any]]] = defaultdict(list)
    for row in board.by_key.values():
        for standing, work in row.members:
            if standing.object.pk == item.pk:
                found[work.pk].append(standing_in(board, row))
    return dict(found)


def living_object(key: UUID) -> Object:
    return get_object_or_404(Object, pk=key, deleted_at=None)


def location_of(key: str) -> Location | None:
    return Location.objects.get(pk=key) if key else None


def check_may_edit(request: HttpRequest) -> None:
    if not services.may_plan(person_of(request)):
        raise PermissionDenied("Conservators and the head of department change the catalogue.")


def take_back(form: Any, refusal: Refused) -> None:
    """Show why it was refused beside the fields it is about."""
    for field, sentence in refusal.reasons.items():
        form.add_error(field if field in form.fields else None, sentence)
