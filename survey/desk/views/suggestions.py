"""What a reading suggests: an observation or an amendment is made of it, or it is dismissed."""

from typing import Any, cast
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from survey.access.models import Person
from survey.desk.accepting import Said
from survey.desk.accepting import accept as accept_as_amendment
from survey.desk.forms import AcceptForm
from survey.desk.growth_words import growth_in_words, measurement_of
from survey.desk.readings import Shown, shown
from survey.desk.sides import side_of
from survey.desk.suggestions import LISTED, Suggestion, light_of, suggestions
from survey.desk.told import Told, check_may_correct, told
from survey.desk.views.session import person_of
from survey.examination.models import Observation, Photograph
from survey.reading import services
from survey.reading.models import Reading
from survey.reading.trouble import CannotCorrect
from survey.reports.dossier import dossier_of
from survey.reports.words import day_in_words
from survey.sync.services import Refused, record_change
from survey.vocabulary.models import Term

AGAIN = "This was read again meanwhile. Look at the list once more."


@require_POST
@login_required
def observe(request: HttpRequest, key: UUID) -> HttpResponse:
    """Make an observation where the reading suggests one. A signed examination refuses it."""
    seen, read, one = _named(request, key)
    term = get_object_or_404(Term, pk=request.POST.get("term"), retired_at=None)
    nature = request.POST.get("nature", Observation.Nature.UNSURE)
    if one is None:
        messages.error(request, AGAIN)
    else:
        try:
            _make(seen, read, one, term, nature, person_of(request))
        except Refused as refusal:
            messages.error(request, str(refusal))
        else:
            messages.success(request, f"An observation was made: {term.name}.")
    return _back(seen, read)


@require_POST
@login_required
def accept(request: HttpRequest, key: UUID) -> HttpResponse:
    """Add what changed to a signed examination, as an amendment in the person's name."""
    seen, read, one = _named(request, key)
    if read.kind != Reading.Kind.CHANGES:
        raise Http404
    form = AcceptForm(request.POST)
    if one is None:
        messages.error(request, AGAIN)
    elif one.verdict:
        messages.error(request, f"Somebody settled this before: {one.verdict}.")
    elif not form.is_valid():
        for errors in form.errors.values():
            messages.error(request, " ".join(str(error) for error in errors))
    else:
        try:
            said = cast(Said, form.cleaned_data)
            accept_as_amendment(seen.examination, read, one, said, person_of(request))
        except Refused as refusal:
            messages.error(request, str(refusal))
        else:
            name = said["term"].name
            messages.success(request, f"Added to the signed examination as an amendment: {name}.")
    return _back(seen, read)


@require_POST
@login_required
def dismiss(request: HttpRequest, key: UUID) -> HttpResponse:
    """Say that a suggestion is nothing to observe, or bring it back. The reading itself stays."""
    seen, read, one = _named(request, key)
    if one is None or read.reading is None:
        messages.error(request, AGAIN)
    else:
        change = "bring_back" if request.POST.get("back") else "dismiss"
        reason = request.POST.get("reason", "").strip()
        if read.kind == "changes" and change == "dismiss" and not reason:
            messages.error(request, "Say in a few words why it is nothing.")
            return _back(seen, read)
        try:
            services.correct(read.reading, person_of(request), {change: [one.place]}, reason)
        except CannotCorrect as error:
            messages.error(request, str(error))
    return _back(seen, read)


def _make(
    seen: Told, read: Shown, one: Suggestion, term: Term, nature: str, person: Person
) -> None:
    """The observation, and how large it was measured to be. Raises Refused, and then neither."""
    growth = one.told.get("growth")
    fields: dict[str, Any] = {
        "examination": seen.examination,
        "term": term,
        "nature": nature,
        "side": read.side,
        "lights": [light_of(read)],
        "region": one.region,
    }
    if growth and "change" in growth and read.result:
        taken = Photograph.objects.get(pk=read.result["earlier"]).taken_at
        fields["note"] = f"Against {day_in_words(taken)}: {growth_in_words(growth)}"
    with transaction.atomic():
        observation = record_change("observation", None, fields, person)
        measured = measurement_of(growth, term.name)
        if measured and read.result:
            later = Photograph.objects.get(pk=read.result["later"])
            beside = {
                "examination": seen.examination,
                "observation": observation,
                "photograph": later,
            }
            record_change("measurement", None, measured | beside, person)


def _named(request: HttpRequest, key: UUID) -> tuple[Told, Shown, Suggestion | None]:
    """The suggestion that the form names; None when the reading is another one by now."""
    seen = told(request, key)
    check_may_correct(seen)
    kind = request.POST.get("kind", "")
    if kind not in LISTED:
        raise Http404
    given = {"light": request.POST.get("light", "")} if kind == "changes" else None
    read = shown(seen, kind, side_of(seen, request.POST.get("side")), given)
    if read.reading is None or str(read.reading.pk) != request.POST.get("reading"):
        return seen, read, None
    found = suggestions(read, dossier_of(seen.examination))
    place = request.POST.get("place", "")
    return seen, read, next((one for one in found if str(one.place) == place), None)


def _back(seen: Told, read: Shown) -> HttpResponse:
    address = reverse(f"desk:{read.kind}", args=[seen.examination.pk])
    light = f"&light={light_of(read)}" if read.kind == "changes" else ""
    return redirect(f"{address}?side={read.side}{light}#suggested")
