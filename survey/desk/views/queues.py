"""Act now, the queues, and what is said of a piece of work there."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from survey.catalogue.models import Object
from survey.catalogue.queries import location_paths, places_within
from survey.desk.forms import QueueFilter
from survey.desk.views.session import back, person_of
from survey.examination.models import Recommendation
from survey.reports.pictures import covers
from survey.reports.words import entry_name
from survey.triage import queries, services
from survey.vocabulary import queries as vocabulary

ROWS_A_PAGE = 50


@dataclass(frozen=True)
class Section:
    """The rows of one queue that are shown together."""

    name: str
    of: int
    rows: list[queries.Placed]


@require_safe
@login_required
def act_now(request: HttpRequest) -> HttpResponse:
    board = queries.board()
    return render(
        request,
        "desk/act_now.html",
        {
            "urgent": board.act_now,
            "covers": covers(entry.standing.examination.pk for entry in board.act_now),
            "paths": location_paths(),
            "cleared": queries.cleared(),
            "cleared_days": queries.CLEARED_SHOWN.days,
        },
    )


@require_safe
@login_required
def queue(request: HttpRequest) -> HttpResponse:
    """The queues, narrowed by the filters. A row keeps its place whatever the filters are."""
    filters = QueueFilter(request.GET or None)
    board = queries.board()
    rows = narrowed(board, filters)
    page = Paginator(rows, ROWS_A_PAGE).get_page(request.GET.get("page"))
    return render(
        request,
        "desk/queue.html",
        {
            "filters": filters,
            "page": page,
            "sections": sections(page.object_list),
            "covers": covers(placed.row.standing.examination.pk for placed in page.object_list),
            "paths": location_paths(),
            "weights": queries.current_weights(),
            "urgent": len(board.act_now),
        },
    )


@require_safe
@login_required
def queue_print(request: HttpRequest) -> HttpResponse:
    """The same rows on paper: all of them, with the filters named and the date."""
    filters = QueueFilter(request.GET or None)
    rows = narrowed(queries.board(), filters)
    return render(
        request,
        "desk/queue_print.html",
        {
            "sections": sections(rows),
            "named": filters.named() if filters.is_bound and filters.is_valid() else [],
            "paths": location_paths(),
            "printed_at": timezone.localtime(),
            "number": len(rows),
        },
    )


def narrowed(board: queries.Board, filters: QueueFilter) -> list[queries.Placed]:
    """The rows that pass the filters; all rows while a filter is not understood."""
    rows = list(board.placed())
    if not filters.is_bound or not filters.is_valid():
        return rows
    wanted = filters.cleaned_data
    within = set(places_within([wanted["place"]])) if wanted["place"] else None
    return [placed for placed in rows if passes(placed.row, wanted, within)]


def passes(row: queries.Row, wanted: dict[str, Any], within: set[UUID] | None) -> bool:
    item, weeks = row.object, wanted["weeks"]
    return (
        wanted["studio"] in ("", item.studio)
        and wanted["kind"] in ("", row.recommendation.kind_of_work)
        and wanted["significance"] in ("", item.significance)
        and (within is None or item.location_id in within)
        and (weeks is None or is_needed_within(row, weeks))
        and has_words(row, wanted["text"])
    )


def is_needed_within(row: queries.Row, weeks: int) -> bool:
    last = row.facts.today + timedelta(weeks=weeks)
    return any(need.due and need.due <= last for need in row.facts.needs)


def has_words(row: queries.Row, text: str) -> bool:
    item = row.object
    known = " ".join(
        [
            item.accession_number,
            item.title,
            item.maker,
            item.support,
            item.media,
            row.recommendation.note,
            *(seen.term for seen in row.facts.seen),
            *(need.title for need in row.facts.needs),
        ]
    ).casefold()
    return all(word in known for word in text.casefold().split())


def sections(rows: Iterable[queries.Placed]) -> list[Section]:
    """The rows under a heading for each queue, in the order they come."""
    found: dict[queries.QueueKey, Section] = {}
    studios = dict(Object.Studio.choices)
    for placed in rows:
        studio, kind = key = placed.row.queue
        name = f"{studios[studio]} studio: {entry_name(vocabulary.kinds_of_work(), kind).lower()}"
        found.setdefault(key, Section(name, placed.of, [])).rows.append(placed)
    return list(found.values())


@require_POST
@login_required
def set_readiness(request: HttpRequest, key: UUID) -> HttpResponse:
    """Space and materials each say "yes" or are absent."""
    work = living_work(key)
    services.set_readiness(
        work,
        person=person_of(request),
        space=request.POST.get("space") == "yes",
        materials=request.POST.get("materials") == "yes",
    )
    return redirect(back(request, reverse("desk:queue")))


@require_POST
@login_required
def set_done(request: HttpRequest, key: UUID) -> HttpResponse:
    work = living_work(key)
    mark = services.mark_done if request.POST.get("done") == "yes" else services.mark_not_done
    mark(work, person=person_of(request))
    return redirect(back(request, reverse("desk:queue")))


def living_work(key: UUID) -> Recommendation:
    return get_object_or_404(Recommendation, pk=key, deleted_at=None)
