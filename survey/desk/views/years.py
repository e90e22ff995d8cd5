"""Over the years: an object's states on a timeline, two of them to compare, and what grew."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_POST, require_safe

from survey.desk.lamp import duration_in_words
from survey.desk.views.objects import living_object
from survey.desk.views.session import person_of
from survey.desk.years import Followed, Years, years_of
from survey.desk.years_plot import plot_of, timeline_of
from survey.desk.years_words import between_in_words, trend_in_words
from survey.examination.models import Examination, Observation, Photograph, Side
from survey.reading import services
from survey.reading.kinds.changes import is_alike
from survey.reading.models import Reading
from survey.reading.queries import earlier_placed, latest_changes
from survey.reading.trouble import CannotAsk, CannotCorrect
from survey.reports.pictures import plates_of
from survey.reports.words import day_in_words
from survey.vocabulary.queries import lights


@require_safe
@login_required
def years_page(request: HttpRequest, key: UUID) -> HttpResponse:
    item = living_object(key)
    years = years_of(item)
    unsigned = Examination.objects.filter(object=item, deleted_at=None, signed_at=None).count()
    chosen = years.states[-2:]
    return render(
        request,
        "desk/years.html",
        {
            "object": item,
            "years": years,
            "unsigned": unsigned,
            "last": years.states[-1].examination if years.states else None,
            "timeline": timeline_of(years.states),
            "states": [
                {
                    "state": one,
                    "lamp": duration_in_words(one.examination.lamp_s),
                    "plates": [plate for plate in one.plates if plate.is_here][:MOST_THUMBS],
                    "is_earlier": len(chosen) == 2 and one is chosen[0],
                    "is_later": len(chosen) == 2 and one is chosen[1],
                }
                for one in years.states
            ],
            "places": [place(one, years) for one in years.followed],
            "may_correct": services.may_read(person_of(request)),
        },
    )


MOST_THUMBS = 6


def place(one: Followed, years: Years) -> dict[str, Any]:
    """One place as the page tells it."""
    return {
        "place": one,
        "series": [
            {
                "series": series,
                "plot": plot_of(series),
                "between": between_in_words(series),
                "trend": trend_in_words(series),
            }
            for series in one.series
        ],
        # Those before it that it may continue: seen on its side, and not in the same examination.
        "earlier": [
            other
            for other in years.followed
            if other.side == one.side
            and other.last.examination.started_at < one.first.examination.started_at
        ],
    }


@require_POST
@login_required
def compare(request: HttpRequest, key: UUID) -> HttpResponse:
    """To the page of changes of two chosen states, where photographs allow it.

    Whoever may ask for readings has asked for this one by choosing them.
    """
    item = living_object(key)
    signed = Examination.objects.filter(object=item, deleted_at=None, signed_at__isnull=False)
    back = redirect("desk:years", key=item.pk)
    first, second = (_chosen(signed, request.POST.get(name, "")) for name in ("earlier", "later"))
    if first is None or second is None:
        messages.error(request, "Choose an earlier and a later examination to compare.")
        return back
    if first.started_at > second.started_at:
        first, second = second, first
    if first == second:
        messages.error(request, "Choose two different examinations to compare.")
        return back
    found = comparable(first, second)
    if found is None:
        days = f"{day_in_words(first.started_at)} and {day_in_words(second.started_at)}"
        messages.error(
            request,
            f"No side was photographed under one light on both {days}, with the earlier photograph "
            "lying on the sheet. If it was, set its corners on the page of that examination’s "
            "lights.",
        )
        return back
    given = {"light": found.light, "earlier": str(found.pk)}
    person = person_of(request)
    read = latest_changes(second, found.side).get(found.light)
    is_read = read is not None and read.given.get("earlier") == given["earlier"]
    if services.may_read(person) and not is_read:
        try:
            services.ask(Reading.Kind.CHANGES, second, found.side, person, given)
        except CannotAsk as error:
            messages.error(request, str(error))
    query = urlencode({"side": found.side, **given})
    return redirect(f"{reverse('desk:changes', args=[second.pk])}?{query}")


def _chosen(signed: Any, key: str) -> Examination | None:
    try:
        return signed.filter(pk=UUID(key)).first()
    except ValueError:
        return None


def comparable(earlier: Examination, later: Examination) -> Photograph | None:
    """The earlier photograph to compare by: the recto first, the lights in their order."""
    here = [one.photograph for one in plates_of([later.pk]).get(later.pk, []) if one.is_here]
    order = [light["code"] for light in lights()]
    found = [
        one
        for side in Side.values
        for one in earlier_placed(later, side)
        if one.examination_id == earlier.pk
        and any(other.side == side and is_alike(one, other) for other in here)
    ]
    return min(
        found, key=lambda one: (Side.values.index(one.side), order.index(one.light)), default=None
    )


@require_POST
@login_required
def say(request: HttpRequest, key: UUID) -> HttpResponse:
    """Keep a person's word on whether two observations tell of one place."""
    item = living_object(key)
    rows = Observation.objects.filter(
        examination__object=item, examination__signed_at__isnull=False, deleted_at=None
    ).select_related("examination__object", "term")
    before, after = (
        get_object_or_404(rows, pk=_key(request.POST.get(name, ""))) for name in ("before", "after")
    )
    is_same = request.POST.get("same") == "yes"
    try:
        services.say_same_place(
            before,
            after,
            person_of(request),
            is_same=is_same,
            reason=request.POST.get("reason", ""),
        )
    except CannotCorrect as error:
        messages.error(request, str(error))
    else:
        messages.success(
            request, "Kept: the same place." if is_same else "Kept: not the same place."
        )
    return redirect(f"{reverse('desk:years', args=[item.pk])}#seen")


def _key(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None
