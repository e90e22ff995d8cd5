"""One side of a sheet with all its photographs, and how each lies on the sheet."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from survey.desk import point_forms
from survey.desk.lying import base_of, for_sheet_view, lines, lying, outlines, sheet_of
from survey.desk.readings import shown
from survey.desk.sides import side_of, sides
from survey.desk.told import check_may_correct, framed, told
from survey.desk.views.session import back, person_of
from survey.examination.api import SHOWN
from survey.examination.models import Photograph
from survey.reading import services
from survey.reading.models import LaterPlacing, Reading
from survey.reading.queries import alignments_of, lies_of
from survey.reading.trouble import CannotAsk, CannotPlace
from survey.reports.dossier import dossier_of
from survey.reports.pictures import Plate, upright_sizes

WAYS = {
    "corners": "Set corners",
    "scale": "Set a scale",
    "by-hand": "Move by hand",
}
LEADS = {
    "corners": (
        "Set the four corners of the sheet as this photograph shows them. From then on every place "
        "on it is known in millimetres."
    ),
    "scale": (
        "Set the two ends of a scale that lies beside the sheet. Lengths can then be measured, but "
        "a camera that was held at a slant is not put right: four corners do better."
    ),
    "by-hand": (
        "Set two places that are plain on both photographs and far from each other: the ends of a "
        "line, a stain, a corner of the plate mark. The first photograph is then laid so that they "
        "meet."
    ),
}


@require_safe
@login_required
def lights_page(request: HttpRequest, key: UUID) -> HttpResponse:
    seen = told(request, key)
    side = side_of(seen, request.GET.get("side"))
    plates = [plate for plate in seen.plates if plate.photograph.side == side]
    sizes = upright_sizes(plates)
    dossier = dossier_of(seen.examination)
    lies = lies_of(seen.examination)
    alignments = {one.photograph_id: one for one in alignments_of(seen.examination)}
    aligned = shown(seen, Reading.Kind.ALIGN, side)
    found = (aligned.reading and aligned.reading.result) or {}
    failures = {
        one["photograph"]: one["sentence"]
        for one in found.get("photographs", [])
        if one["matrix"] is None
    }
    return render(
        request,
        "desk/lights/lights.html",
        framed(seen, "lights")
        | {
            "side": side,
            "sides": sides(seen, side),
            "shown": for_sheet_view(plates, lies, sizes),
            "outlines": outlines(dossier.observations, lies, sizes),
            "lines": lines(dossier.measurements),
            "sheet": sheet_of(seen.examination),
            "states": lying(plates, lies, alignments, failures),
            "reading": aligned,
        },
    )


@require_POST
@login_required
def read(request: HttpRequest, key: UUID) -> HttpResponse:
    """Ask for a reading, or for the same one again."""
    seen = told(request, key)
    check_may_correct(seen)
    kind, side = request.POST.get("kind", ""), side_of(seen, request.POST.get("side"))
    if kind not in Reading.Kind.values:
        raise Http404
    try:
        services.ask(kind, seen.examination, side, person_of(request))
    except CannotAsk as error:
        messages.error(request, str(error))
    return redirect(back(request, reverse("desk:lights", args=[seen.examination.pk])))


@login_required
def place(request: HttpRequest, key: UUID, how: str) -> HttpResponse:
    """Say how one photograph lies on the sheet: by corners, a scale, or another photograph."""
    photograph = get_object_or_404(
        Photograph.objects.select_related("examination__object"), pk=key, deleted_at=None
    )
    seen = told(request, photograph.examination_id)
    check_may_correct(seen)
    plates = [plate for plate in seen.plates if plate.photograph.side == photograph.side]
    plate = next(one for one in plates if one.photograph.pk == photograph.pk)
    base = base_of(plates)
    can_nudge = base is not None and base is not plate
    if how not in WAYS or not plate.is_here or (how == "by-hand" and not can_nudge):
        raise Http404
    pickers = _pickers(how, plate, base, request.POST if request.method == "POST" else None)
    given = [one["form"] for one in pickers]
    if request.method == "POST" and all([form.is_valid() for form in given]):
        try:
            _keep(how, photograph, given, request)
        except CannotPlace as error:
            given[0].add_error(None, str(error))
        else:
            messages.success(request, f"{plate.name}: saved how it lies on the sheet.")
            address = reverse("desk:lights", args=[seen.examination.pk])
            return redirect(f"{address}?side={photograph.side}#photograph-{photograph.pk}")
    return render(
        request,
        "desk/lights/place.html",
        framed(seen, "lights")
        | {
            "plate": plate,
            "how": how,
            "ways": [(code, name) for code, name in WAYS.items() if code != "by-hand" or can_nudge],
            "heading": WAYS[how],
            "lead": LEADS[how],
            "pickers": pickers,
            "are_two": len(pickers) > 1,
            "forms": given,
            "is_beside": seen.examination.is_signed and how != "by-hand",
        },
        status=400 if any(form.errors for form in given) else 200,
    )


def _pickers(how: str, plate: Plate, base: Plate | None, given: Any) -> list[dict[str, Any]]:
    """One photograph to set points on, or two."""
    if how == "by-hand" and base is not None:
        return [
            picker(plate, point_forms.PlacesForm, given, "from", None),
            picker(base, point_forms.PlacesForm, given, "to", None),
        ]
    later = LaterPlacing.objects.filter(photograph=plate.photograph).first()
    placing = (later.placing if later else plate.photograph.placing) or {}
    known = placing if placing.get("kind") == how else {}
    if how == "corners":
        return [picker(plate, point_forms.CornersForm, given, "at", known.get("points"))]
    scale = picker(plate, point_forms.ScaleForm, given, "at", known.get("points"))
    scale["form"].initial["length_mm"] = next(iter(known.get("size_mm", [])), None)
    return [scale]


def picker(
    plate: Plate,
    form: type[point_forms.PointsForm],
    given: Any,
    prefix: str,
    known: point_forms.Pixels | None,
) -> dict[str, Any]:
    """A photograph to set points on, and the form for them; known: the points shown at first."""
    width, height = upright_sizes([plate])[plate.photograph.pk]
    return {
        "name": plate.name,
        "preview": reverse("api-preview", args=[plate.photograph.sha256]),
        "original": reverse("api-original", args=[plate.photograph.sha256])
        if plate.photograph.content_type in SHOWN
        else "",
        "width": width,
        "height": height,
        "form": form((width, height), given, prefix=prefix, initial=point_forms.initial_of(known)),
    }


def _keep(how: str, photograph: Photograph, given: list[Any], request: HttpRequest) -> None:
    """Raises CannotPlace."""
    person = person_of(request)
    if how == "by-hand":
        services.nudge(photograph, given[0].points(), given[1].points(), person)
    elif how == "corners":
        services.set_geometry(photograph, person, corners=given[0].points())
    else:
        length = given[0].cleaned_data["length_mm"]
        services.set_geometry(photograph, person, scale=given[0].points(), length_mm=length)
