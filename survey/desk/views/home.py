"""The first page: what must be done now, what waits where, and what came in."""

from collections import Counter, defaultdict
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.contrib.auth.decorators import login_required
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from survey.catalogue.models import Object
from survey.catalogue.queries import location_paths
from survey.desk.forms import kinds_of_work
from survey.examination.models import Examination, Visit
from survey.reports.pictures import covers
from survey.sync.models import Change, OpenQuestion
from survey.triage import queries
from survey.triage.models import Need

CAME_IN_WITHIN = timedelta(days=7)
DUE_WITHIN = timedelta(weeks=6)
URGENT_SHOWN = 6
VISITS_SHOWN = 8


@dataclass(frozen=True)
class Cell:
    """How many pieces of work of one kind wait in a studio."""

    kind: str
    number: int


@require_safe
@login_required
def home(request: HttpRequest) -> HttpResponse:
    today = timezone.localdate()
    board = queries.board(today)
    urgent = board.act_now[:URGENT_SHOWN]
    visits = list(came_in(timezone.now() - CAME_IN_WITHIN))
    near = wanted(today)
    return render(
        request,
        "desk/home.html",
        {
            "today": today,
            "urgent": urgent,
            "urgent_more": len(board.act_now) - len(urgent),
            "covers": covers(entry.standing.examination.pk for entry in urgent),
            "paths": location_paths(),
            "kinds": kinds_of_work(),
            "counts": counts(board),
            "tallies": tallies(board, near),
            "visits": visits[:VISITS_SHOWN],
            "visits_more": max(0, len(visits) - VISITS_SHOWN),
            "wanted": near,
        },
    )


def counts(board: queries.Board) -> list[tuple[str, str, list[Cell]]]:
    """For each studio with work: its code, its name, and a count for each kind of work."""
    by_studio: dict[str, Counter[str]] = defaultdict(Counter)
    for (studio, kind), rows in board.queues.items():
        by_studio[studio][kind] = len(rows)
    return [
        (studio, label, [Cell(kind, by_studio[studio][kind]) for kind, _ in kinds_of_work()])
        for studio, label in Object.Studio.choices
        if studio in by_studio
    ]


def tallies(board: queries.Board, near: list[tuple[Need, list[Object]]]) -> dict[str, Any]:
    rows = [placed.row for placed in board.placed()]
    return {
        "act_now": len(board.act_now),
        "work": len(rows),
        "hours": sum(row.hours or 0 for row in rows),
        "without_hours": sum(row.hours is None for row in rows),
        "due": sum(len(objects) for _, objects in near),
        "questions": OpenQuestion.objects.filter(settled_at=None).count(),
    }


def due(today: date) -> Any:
    """Needs whose date is near; those that have passed stay until somebody sees to them."""
    return Need.objects.filter(due__lte=today + DUE_WITHIN, object__deleted_at=None).select_related(
        "object"
    )


def wanted(today: date) -> list[tuple[Need, list[Object]]]:
    """Each exhibition, loan or piece of research that is near, with the objects it wants."""
    found: dict[tuple[str, str, date | None], tuple[Need, list[Object]]] = {}
    for need in due(today).order_by("due", "title", "object__accession_number"):
        key = (need.kind, need.title, need.due)
        found.setdefault(key, (need, []))[1].append(need.object)
    return list(found.values())


def came_in(since: datetime) -> Any:
    """Visits with examinations of which something arrived since then, and how many."""
    # A change without a word only has its record sent again.
    arrived = (
        Change.objects.filter(entity="examination", number__isnull=False, received_at__gte=since)
        .exclude(fields={})
        .values_list("entity_id", flat=True)
    )
    examinations = Examination.objects.filter(pk__in=set(arrived), deleted_at=None)
    of_these = Q(examinations__in=examinations.values("pk"))
    return (
        Visit.objects.filter(examinations__in=examinations)
        .select_related("person")
        .annotate(
            examined=Count("examinations", filter=of_these, distinct=True),
            signed=Count(
                "examinations",
                filter=of_these & Q(examinations__signed_at__isnull=False),
                distinct=True,
            ),
        )
        .distinct()
        .order_by("-started_at")
    )
