"""A person's calendar address: made, revoked, and read by a calendar programme."""

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from survey.desk.views.session import person_of
from survey.triage import keeping, queries
from survey.triage.deadlines import deadlines


@require_POST
@login_required
@never_cache
def make_feed(request: HttpRequest) -> HttpResponse:
    """Make an address, and show it this once."""
    token = keeping.make_feed(person_of(request))
    address = request.build_absolute_uri(reverse("desk:feed", args=[token]))
    return render(request, "desk/feed.html", {"address": address})


@require_POST
@login_required
def revoke_feed(request: HttpRequest) -> HttpResponse:
    keeping.revoke_feed(person_of(request))
    messages.success(request, "Your calendar address opens nothing any more.")
    return redirect(f"{reverse('desk:home')}#calendar")


@require_safe
@never_cache
def read_feed(request: HttpRequest, token: str) -> HttpResponse:
    """The deadlines for whoever has the address; nothing else opens with it."""
    # What writes calendars is loaded once somebody asks for one.
    from survey.reports.calendar import CONTENT_TYPE, feed

    if keeping.open_feed(token) is None:
        sentence = "This calendar address is not open. Make a new one at the desk."
        return HttpResponse(sentence, status=404, content_type="text/plain; charset=utf-8")
    now = timezone.now()
    today = timezone.localdate(now)
    found = deadlines(queries.board(today), today, with_holds=True)
    answer = HttpResponse(feed(found, now, today), content_type=CONTENT_TYPE)
    answer["Content-Disposition"] = 'inline; filename="deadlines.ics"'
    # The address is a secret: it is sent on to nobody.
    answer["Referrer-Policy"] = "no-referrer"
    return answer
