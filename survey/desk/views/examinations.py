"""Visits, examinations and single photographs."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from survey.catalogue.queries import location_paths
from survey.desk.made_reports import listed
from survey.desk.questions import questions_of
from survey.desk.told import links
from survey.examination.models import Examination, Photograph, Visit
from survey.reports.dossier import dossier_of
from survey.reports.models import Report
from survey.reports.pictures import RING_LARGE, covers
from survey.reports.words import standing_at

VISITS_A_PAGE = 50


@require_safe
@login_required
def visit_list(request: HttpRequest) -> HttpResponse:
    living = Q(examinations__deleted_at=None)
    visits = (
        Visit.objects.filter(deleted_at=None)
        .select_related("person")
        .annotate(
            examined=Count("examinations", filter=living),
            signed=Count("examinations", filter=living & Q(examinations__signed_at__isnull=False)),
        )
        .order_by("-started_at", "-id")
    )
    page = Paginator(visits, VISITS_A_PAGE).get_page(request.GET.get("page"))
    return render(request, "desk/visits.html", {"page": page, "paths": location_paths()})


@require_safe
@login_required
def visit_page(request: HttpRequest, key: UUID) -> HttpResponse:
    visit = get_object_or_404(Visit.objects.select_related("person"), pk=key, deleted_at=None)
    examinations = list(
        visit.examinations.filter(deleted_at=None)
        .select_related("object", "examiner")
        .annotate(
            seen=Count("observations", filter=Q(observations__deleted_at=None), distinct=True),
            photographed=Count(
                "photographs", filter=Q(photographs__deleted_at=None), distinct=True
            ),
        )
        .order_by("started_at")
    )
    return render(
        request,
        "desk/visit.html",
        {
            "visit": visit,
            "examinations": examinations,
            "covers": covers(one.pk for one in examinations),
            "where": standing_at(visit.location_id, visit.place, location_paths()),
        },
    )


@require_safe
@login_required
def examination_page(request: HttpRequest, key: UUID) -> HttpResponse:
    examination = get_object_or_404(Examination, pk=key, deleted_at=None)
    dossier = dossier_of(examination)
    full = dossier.examination
    keys = [full.pk, *(one.observation.pk for one in dossier.observations)]
    keys += [one.watermark.pk for one in dossier.watermarks]
    return render(
        request,
        "desk/examination.html",
        {
            "dossier": dossier,
            "object": full.object,
            "where": standing_at(full.location_id, full.place, location_paths()),
            "questions": questions_of(keys),
            "links": links(),
            "reports": listed(Report.Kind.EXAMINATION, full),
        },
    )


@require_safe
@login_required
def photograph_page(request: HttpRequest, key: UUID) -> HttpResponse:
    """One photograph, large, with the others of its examination one step away."""
    photograph = get_object_or_404(
        Photograph.objects.select_related("examination__object"), pk=key, deleted_at=None
    )
    plates = dossier_of(photograph.examination, RING_LARGE).plates
    return render(
        request,
        "desk/photograph.html",
        {
            "plate": next(plate for plate in plates if plate.photograph.pk == photograph.pk),
            "plates": plates,
            "examination": photograph.examination,
            "object": photograph.examination.object,
        },
    )
