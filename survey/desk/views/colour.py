"""How true a photograph's colours are, by a colour target in its frame."""

from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from survey.desk.point_forms import TargetForm
from survey.desk.readings import Shown, shown
from survey.desk.sides import side_of, sides
from survey.desk.told import Told, check_may_correct, framed, told
from survey.desk.views.lights import picker
from survey.desk.views.session import person_of
from survey.reading import services
from survey.reading.models import Reading
from survey.reading.trouble import CannotAsk
from survey.reports.pictures import Plate


@require_safe
@login_required
def colour_page(request: HttpRequest, key: UUID) -> HttpResponse:
    seen = told(request, key)
    side = side_of(seen, request.GET.get("side"))
    return render(
        request,
        "desk/lights/colour.html",
        about(seen, side, request.GET.get("photograph")),
    )


@require_POST
@login_required
def set_target(request: HttpRequest, key: UUID) -> HttpResponse:
    """Say which target lies where, and ask for the colours to be read by it."""
    seen = told(request, key)
    check_may_correct(seen)
    side = side_of(seen, request.POST.get("side"))
    context = about(seen, side, request.POST.get("photograph"), request.POST)
    form = context["target"]["form"] if context["target"] else None
    if form is not None and form.is_valid():
        given = {
            "photograph": str(context["chosen"].photograph.pk),
            "chart": form.cleaned_data["chart"],
            "corners": form.points(),
        }
        try:
            services.ask(Reading.Kind.COLOUR, seen.examination, side, person_of(request), given)
        except CannotAsk as error:
            form.add_error(None, str(error))
        else:
            return redirect(f"{reverse('desk:colour', args=[seen.examination.pk])}?side={side}")
    return render(request, "desk/lights/colour.html", context, status=400)


def about(seen: Told, side: str, asked: str | None, given: Any = None) -> dict[str, Any]:
    """asked  key of the photograph that the target is set on; given  the form just sent"""
    read = shown(seen, Reading.Kind.COLOUR, side)
    plates = seen.shown("normal", side)
    told_before = read.reading.given if read.reading else {}
    wanted = asked or told_before.get("photograph")
    chosen = next(
        (one for one in plates if str(one.photograph.pk) == wanted), plates[-1] if plates else None
    )
    return framed(seen, "colour") | {
        "side": side,
        "sides": sides(seen, side),
        "reading": read,
        "result": read.result,
        "pictures": pictures(plates, read),
        "plates": plates,
        "chosen": chosen,
        "target": target(chosen, told_before, given) if chosen else None,
    }


def target(plate: Plate, before: dict[str, Any], given: Any) -> dict[str, Any]:
    """The photograph to set the target's corners on, as they were set before."""
    is_same = before.get("photograph") == str(plate.photograph.pk)
    made = picker(plate, TargetForm, given, "at", before.get("corners") if is_same else None)
    made["form"].initial["chart"] = before.get("chart")
    return made


def pictures(plates: list[Plate], read: Shown) -> list[dict[str, str]]:
    """The photograph that was read, as it was taken and as the target says it should look."""
    if read.result is None:
        return []
    used = next(
        (one for one in plates if str(one.photograph.pk) == read.result["photograph"]), None
    )
    before = reverse("api-preview", args=[used.photograph.sha256]) if used else ""
    both = {"As photographed": before, "As the target says": read.picture("corrected")}
    return [{"name": name, "address": address} for name, address in both.items() if address]
