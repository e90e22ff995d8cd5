"""Reports, asked for from the page of the record that they are about."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from survey.desk.views.session import back, person_of
from survey.reports import services
from survey.reports.kinds import KINDS


@require_POST
@login_required
def ask(request: HttpRequest, kind: str, about: UUID) -> HttpResponse:
    """Ask for a report of the record as it stands; whoever sees it may."""
    record = KINDS[kind].find(about) if kind in KINDS else None
    if record is None:
        raise Http404
    try:
        services.ask(kind, record, person_of(request))
    except services.CannotAsk as error:
        messages.error(request, str(error))
    return redirect(back(request, reverse("desk:home")))
