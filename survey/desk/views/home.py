"""The week: what cannot wait, what is due, what came in, who is full, what is stuck."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from survey.desk.charts import Bar, Chart, lying, upright, week_name
from survey.desk.made_reports import page_about
from survey.desk.views.queues import counts
from survey.desk.views.session import person_of
from survey.reports.kinds import KINDS
from survey.reports.models import Report
from survey.triage import queries
from survey.triage.arrived import Arrived, arrived
from survey.triage.board import Board, Row
from survey.triage.deadlines import Deadline, deadlines, nearest_due
from survey.triage.keeping import feed_of
from survey.triage.load import Load, loads
from survey.triage.pieces import desk_work
from survey.triage.rule import counted, in_words, time_until
from survey.triage.stuck import Stuck, stuck

WEEKS = 6
# So many of each stand on the page, which is one sheet of paper; the others are one step away.
SHOWN = 5
# About as wide as they are shown, so that their words are as large as the page's.
CHART_PT, ROW_PT, HEIGHT_PT = 280, 32, 92


@dataclass(frozen=True)
class Week:
    """The work that is due in one week, in hours.

    taken     that somebody accepted
    nobodys   that nobody did
    unknown   pieces of work without an estimate
    """

    monday: date
    taken: float
    nobodys: float
    unknown: int
    pieces: int


@dataclass(frozen=True)
class Due:
    """One deadline, and how far away it is in words."""

    deadline: Deadline
    away: str
    is_past: bool


@dataclass(frozen=True)
class Waiting:
    """One thing that is stuck, and where to go."""

    stuck: Stuck
    address: str
    days: int


@require_safe
@login_required
def home(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    today = timezone.localdate(now)
    desk = desk_work()
    board = queries.board(today, desk=desk)
    since = a_week_before(today)
    came_in = arrived(board, since)
    due = [
        Due(one, time_until(one.due, today), one.due < today)
        for one in deadlines(board, today, until=today + timedelta(weeks=WEEKS))
    ]
    load = loads(board, today, WEEKS)
    found = [(one, _address(one)) for one in stuck(board, desk, now)]
    waiting = waits([*found, *failed_reports()], today)
    weeks = due_by_week(board, today)
    return render(
        request,
        "desk/home.html",
        {
            "today": today,
            "since": since,
            "weeks_ahead": WEEKS,
            "urgent": board.act_now[:SHOWN],
            "urgent_more": max(0, len(board.act_now) - SHOWN),
            "due": due[:SHOWN],
            "due_more": due[SHOWN:],
            "came_in": came_in,
            "signed": came_in.signed[:SHOWN],
            "signed_more": max(0, len(came_in.signed) - SHOWN),
            "checks": came_in.checks[:SHOWN],
            "checks_more": max(0, len(came_in.checks) - SHOWN),
            "shown": f":{SHOWN}",
            "came_in_words": in_short(came_in),
            "loads": load,
            "nobody": nobodys(board),
            "waiting": waiting[:SHOWN],
            "waiting_more": waiting[SHOWN:],
            "weeks": weeks,
            "weeks_chart": weeks_chart(weeks),
            "loads_chart": loads_chart(load),
            "counts": counts(board),
            "feed": feed_of(person_of(request)),
        },
    )


def a_week_before(today: date) -> datetime:
    """The beginning of the same day a week ago, here."""
    return timezone.make_aware(datetime.combine(today - timedelta(days=7), time.min))


def due_by_week(board: Board, today: date) -> list[Week]:
    """The open work by the week in which its objects are wanted, from this week on.

    What is overdue counts in this week: that is when it has to be done.
    """
    this_week = today - timedelta(days=today.weekday())
    mondays = [this_week + timedelta(weeks=number) for number in range(WEEKS)]
    rows: dict[date, list[Row]] = {monday: [] for monday in mondays}
    for row in board.by_key.values():
        due = nearest_due(row)
        if due is None:
            continue
        monday = max(due - timedelta(days=due.weekday()), this_week)
        if monday in rows:
            rows[monday].append(row)
    return [
        Week(
            monday,
            sum(row.hours or 0 for row in of_week if row.person),
            sum(row.hours or 0 for row in of_week if not row.person),
            sum(row.hours is None for row in of_week),
            len(of_week),
        )
        for monday, of_week in rows.items()
    ]


def weeks_chart(weeks: Sequence[Week]) -> Chart:
    bars = [
        Bar(
            week_name(week.monday),
            week.taken,
            week.nobodys,
            f"{hours(week.taken + week.nobodys)}" + (f" + {week.unknown}" if week.unknown else ""),
        )
        for week in weeks
    ]
    told = "Hours of work due in each week: " + "; ".join(
        f"week of {in_words(week.monday)} {hours(week.taken + week.nobodys)}, of which "
        f"{hours(week.taken)} taken on"
        for week in weeks
    )
    return upright(bars, width_pt=CHART_PT, height_pt=HEIGHT_PT, told=told)


def loads_chart(found: Sequence[Load]) -> Chart | None:
    if not found:
        return None
    bars = [
        Bar(load.person.name, load.hours, load.hours_offered, load_in_words(load), load.working)
        for load in found
    ]
    told = "Hours taken on by each person: " + "; ".join(
        f"{load.person.name} {load_in_words(load)}" for load in found
    )
    return lying(bars, width_pt=CHART_PT, row_pt=ROW_PT, told=told)


def load_in_words(load: Load) -> str:
    """``12 h of 40 h; full``, ``12 h``."""
    said = hours(load.hours)
    if load.working is not None:
        said += f" of {hours(load.working)}"
        if load.is_full:
            said += f"; {hours(load.over)} too many" if load.over else "; full"
    if load.hours_offered:
        said += f", {hours(load.hours_offered)} offered"
    return said


def hours(number: float) -> str:
    """``12.5 h``."""
    return f"{number:.10g} h"


def nobodys(board: Board) -> dict[str, Any]:
    """What nobody has accepted yet."""
    rows = [row for row in board.by_key.values() if row.person is None]
    return {"pieces": len(rows), "hours": sum(row.hours or 0 for row in rows)}


def in_short(came_in: Arrived) -> str:
    """``12 examinations signed, 9 with damage; 2 not yet signed; 1 object of act now; no loan
    checks``."""
    signed = len(came_in.signed) + came_in.undamaged
    damaged = f", {len(came_in.signed)} with damage" if signed else ""
    unsigned = f"{came_in.unsigned} not yet signed; " if came_in.unsigned else ""
    said = (
        f"{_counted(signed, 'examination')} signed{damaged}; "
        f"{unsigned}{_counted(len(came_in.urgent), 'object')} of act now; "
        f"{_counted(len(came_in.checks), 'loan check')}"
    )
    return said[0].upper() + said[1:]


def failed_reports() -> Iterable[tuple[Stuck, str]]:
    """Reports that could not be made, where none was made of the record since; and its page."""
    latest: dict[tuple[str, Any], Report] = {}
    for report in Report.objects.select_related("asked_by").order_by("asked_at", "pk"):
        latest[report.kind, report.about] = report
    for report in latest.values():
        kind = KINDS[report.kind]
        record = kind.find(report.about) if report.state == Report.State.FAILED else None
        if record is not None:
            yield (
                Stuck(
                    f"The report of {kind.in_words(record)} could not be made: "
                    f"{report.sentence}".rstrip("."),
                    report.asked_by.name,
                    timezone.localdate(report.asked_at),
                ),
                page_about(report, record),
            )


def waits(found: Iterable[tuple[Stuck, str]], today: date) -> list[Waiting]:
    return [
        Waiting(one, address, (today - one.since).days)
        for one, address in sorted(found, key=lambda each: (each[0].since, each[0].sentence))
    ]


def _address(one: Stuck) -> str:
    if one.row is not None:
        return reverse("desk:work", args=[one.row.key])
    if one.examination is not None:
        return reverse("desk:examination", args=[one.examination.pk])
    if one.treatment is not None:
        return reverse("desk:treatment", args=[one.treatment.pk])
    return reverse("desk:questions")


def _counted(number: int, noun: str) -> str:
    return counted(number, noun) if number else f"no {noun}s"
