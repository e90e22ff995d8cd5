"""Act now and the queues: on the screen, on paper, and their counts."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from survey.catalogue.queries import location_paths, walk
from survey.desk.evidence import evidence_of, examinations_of
from survey.desk.queue_filter import Narrowed, QueueFilter, as_query, narrowed
from survey.desk.views.session import person_of
from survey.reports.pictures import covers, covers_among, plates_of
from survey.triage import queries
from survey.triage.board import Board, Placed, QueueKey, Row
from survey.triage.history import held_in_words, queue_name
from survey.triage.keeping import filters_of
from survey.triage.pieces import DeskWork, desk_work
from survey.triage.sensitivity import Span

ROWS_A_PAGE = 50


@dataclass(frozen=True)
class Section:
    """The rows of one queue that are shown together, and the span of each by its key."""

    key: QueueKey
    name: str
    of: int
    rows: list[Placed]
    spans: dict[UUID, Span]

    @property
    def code(self) -> str:
        """``paper/treat``: what its count goes by."""
        return "/".join(self.key)


@dataclass(frozen=True)
class Held:
    """A row that stands in no queue for now, and why in words."""

    row: Row
    sentence: str
    queue: str


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
    passed = walk()
    filters = QueueFilter(request.GET or None, passed=passed)
    weights = queries.current_weights()
    desk = desk_work()
    board = queries.board(weights=weights, desk=desk)
    found = narrowed(board, filters)
    page = Paginator(found.rows, ROWS_A_PAGE).get_page(request.GET.get("page"))
    rows = [placed.row for placed in page.object_list] + found.held
    standings = [row.standing for row in rows] + [entry.standing for entry in found.urgent]
    plates = plates_of(examinations_of(standings))
    return render(
        request,
        "desk/queue.html",
        {
            "filters": filters,
            "page": page,
            "sections": sections(board, page.object_list),
            "held": held(board, found, desk),
            "found": found,
            "covers": covers_among(plates),
            "evidence": evidence_of(standings, plates),
            "paths": location_paths(passed),
            "weights": weights,
            "counts": counts(board),
            "saved": filters_of(person_of(request)),
            "query": as_query(request.GET),
        },
    )


@require_safe
@login_required
def queue_print(request: HttpRequest) -> HttpResponse:
    """All rows on paper, act now first and held work last, with the filters named and the date."""
    passed = walk()
    filters = QueueFilter(request.GET or None, passed=passed)
    desk = desk_work()
    board = queries.board(desk=desk)
    found = narrowed(board, filters, is_whole=True)
    return render(
        request,
        "desk/queue_print.html",
        {
            "sections": sections(board, found.rows),
            "held": held(board, found, desk),
            "found": found,
            "covers": covers(entry.standing.examination.pk for entry in found.urgent),
            "named": filters.named() if filters.wanted else [],
            "paths": location_paths(passed),
            "printed_at": timezone.localtime(),
            "number": found.number,
        },
    )


@require_safe
@login_required
def queue_table(request: HttpRequest) -> HttpResponse:
    """All rows as a workbook, act now first and held work last."""
    # What writes workbooks is loaded once somebody asks for one.
    from survey.reports.queue_table import CONTENT_TYPE, Entry, workbook

    passed = walk()
    filters = QueueFilter(request.GET or None, passed=passed)
    weights = queries.current_weights()
    desk = desk_work()
    board = queries.board(weights=weights, desk=desk)
    found = narrowed(board, filters, is_whole=True)
    # A piece of work done on several objects stands with the first of them that cannot wait.
    hazards = {row.key: entry.hazards for entry in reversed(found.urgent) for row in entry.rows}
    entries = [
        *(Entry(row, hazards=hazards[key]) for key, row in found.urgent_rows.items()),
        *(
            Entry(placed.row, placed, section.spans[placed.row.key])
            for section in sections(board, found.rows)
            for placed in section.rows
        ),
        *(Entry(one.row, held=one.sentence) for one in held(board, found, desk)),
    ]
    now = timezone.now()
    content = workbook(
        entries,
        weights=weights,
        named=filters.named() if filters.wanted else [],
        paths=location_paths(passed),
        made_at=now,
        without_work=sum(not entry.rows for entry in found.urgent),
    )
    answer = HttpResponse(content, content_type=CONTENT_TYPE)
    name = f"queues-{timezone.localtime(now):%Y-%m-%d}.xlsx"
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


@require_safe
@login_required
@never_cache
def queue_counts(request: HttpRequest) -> JsonResponse:
    """How many wait where, for pages that are open already."""
    return JsonResponse({name: number for name, _, number in counts(queries.board())})


def counts(board: Board) -> list[tuple[str, str, int]]:
    """Code, name and number of each queue that holds work, of act now and of what is held."""
    return [
        ("act-now", "Act now", len(board.act_now)),
        *(("/".join(key), queue_name(key), len(rows)) for key, rows in board.queues.items()),
        ("held", "Held", len(board.held)),
    ]


def sections(board: Board, rows: Iterable[Placed]) -> list[Section]:
    """The rows under a heading for each queue, in the order they come."""
    found: dict[QueueKey, Section] = {}
    for placed in rows:
        key = placed.row.queue
        if key not in found:
            found[key] = Section(key, queue_name(key), placed.of, [], board.spans(key))
        found[key].rows.append(placed)
    return list(found.values())


def held(board: Board, found: Narrowed, desk: DeskWork) -> list[Held]:
    return [
        Held(row, held_in_words(row.hold, board.waits_for(row.hold, desk)), queue_name(row.queue))
        for row in found.held
        if row.hold is not None
    ]


def standing_in(board: Board, row: Row) -> dict[str, Any]:
    """Where a row stands: in act now, held, or at a place with its span."""
    placed = board.place_of(row.key)
    return {
        "row": row,
        "placed": placed,
        "span": board.spans(row.queue)[row.key] if placed else None,
        "is_urgent": row.key in board.urgent_rows,
        "is_held": row in board.held,
        "queue": queue_name(row.queue),
    }
