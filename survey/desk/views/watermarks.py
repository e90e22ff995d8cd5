"""The watermark: its pictures, its record, and its match in a printed repertory."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from survey.desk.forms import ReasonForm, WatermarkForm
from survey.desk.readings import Shown
from survey.desk.readings import shown as shown_reading
from survey.desk.sides import side_of, sides
from survey.desk.told import Told, check_may_correct, framed, told
from survey.desk.views.objects import take_back
from survey.desk.views.session import person_of
from survey.desk.watermarks import add_to_signed, amend, facts_of, match_in_words, write
from survey.examination.models import Watermark
from survey.reading.models import Reading
from survey.reports.dossier import amended_of
from survey.sync.services import Refused


@require_safe
@login_required
def watermark_page(request: HttpRequest, key: UUID) -> HttpResponse:
    seen = told(request, key)
    side = side_of(seen, request.GET.get("side"))
    return render(request, "desk/lights/watermark.html", about(seen, side))


@require_POST
@login_required
def save_watermark(request: HttpRequest, key: UUID) -> HttpResponse:
    """A new record, or another word in one; of a signed examination it becomes an amendment."""
    seen = told(request, key)
    check_may_correct(seen)
    mark = None
    if request.POST.get("watermark"):
        mark = get_object_or_404(records(seen), pk=request.POST["watermark"])
    form = form_of(mark, request.POST)
    reason = ReasonForm(request.POST if seen.examination.is_signed else None, prefix=form.prefix)
    is_signed = seen.examination.is_signed
    if form.is_valid() and (not is_signed or reason.is_valid()):
        try:
            saved = save(seen, mark, form, reason, request)
        except Refused as refusal:
            take_back(form, refusal)
        else:
            messages.success(request, saved)
            return redirect("desk:watermark", key=seen.examination.pk)
    return render(
        request,
        "desk/lights/watermark.html",
        about(seen, side_of(seen, None), form, reason, mark),
        status=400,
    )


@require_POST
@login_required
def remove_watermark(request: HttpRequest, key: UUID) -> HttpResponse:
    seen = told(request, key)
    check_may_correct(seen)
    mark = get_object_or_404(records(seen), pk=request.POST.get("watermark"))
    try:
        write(seen.examination, mark, {"deleted": True}, person_of(request))
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "The record of the watermark is taken away.")
    return redirect("desk:watermark", key=seen.examination.pk)


def save(
    seen: Told,
    mark: Watermark | None,
    form: WatermarkForm,
    reason: ReasonForm,
    request: HttpRequest,
) -> str:
    """Returns what was done, in a sentence. Raises Refused."""
    person = person_of(request)
    changed = form.changed()
    if not seen.examination.is_signed:
        write(seen.examination, mark, changed, person)
        return "The record of the watermark is saved."
    words = reason.cleaned_data["reason"]
    if mark is None:
        add_to_signed(seen.examination, words, person)
    elif changed:
        amend(mark, changed, words, person)
    else:
        return "Nothing was altered, so nothing is amended."
    return "The amendment is signed and stands beside the record."


def records(seen: Told) -> Any:
    return Watermark.objects.filter(examination=seen.examination, deleted_at=None)


def form_of(mark: Watermark | None, given: Any = None) -> WatermarkForm:
    # A copy of the record, so that what was typed never passes for what stands.
    copy = Watermark.objects.get(pk=mark.pk) if mark is not None and given is not None else mark
    prefix = f"mark-{mark.pk}" if mark is not None else "mark-new"
    return WatermarkForm(given, instance=copy, prefix=prefix)


def about(
    seen: Told,
    side: str,
    form: WatermarkForm | None = None,
    reason: ReasonForm | None = None,
    of: Watermark | None = None,
) -> dict[str, Any]:
    """The page; ``form`` and ``reason`` are those just sent, about the record ``of``."""
    amended = amended_of(seen.examination)
    read = shown_reading(seen, Reading.Kind.WATERMARK, side)

    def shown(mark: Watermark | None) -> dict[str, Any]:
        is_sent = form is not None and mark == of
        own = form if is_sent else form_of(mark)
        assert own is not None
        return {
            "mark": mark,
            "facts": facts_of(mark) if mark else [],
            "match": match_in_words(mark) if mark else "",
            "amended": [
                one for one in amended if mark and one.amendment.subject == f"watermark:{mark.pk}"
            ],
            "form": own,
            "reason": reason if is_sent and reason else ReasonForm(prefix=own.prefix),
            "is_sent": is_sent,
        }

    return framed(seen, "watermark") | {
        "marks": [shown(mark) for mark in records(seen)],
        "new": shown(None),
        "side": side,
        "sides": sides(seen, side),
        "reading": read,
        "pictures": pictures(seen, side, read),
    }


def pictures(seen: Told, side: str, read: Shown) -> list[dict[str, str]]:
    """The figure made plain, then the photographs it was made from."""
    found = []
    if address := read.picture("enhanced"):
        name = "Transmitted light, what is drawn on the sheet reduced"
        found.append({"address": address, "name": name, "light": "transmitted"})
    for light in ("transmitted", "normal"):
        for plate in seen.shown(light, side)[-1:]:
            address = reverse("api-preview", args=[plate.photograph.sha256])
            found.append({"address": address, "name": plate.name, "light": light})
    return found
