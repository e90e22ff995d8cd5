"""Relief: the surface without the drawing, what lies nearer, and marks to look at."""

import math
from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from survey.desk.grounds import ground_made
from survey.desk.readings import shown
from survey.desk.sides import side_of, sides
from survey.desk.suggestions import (
    Suggestion,
    is_closed,
    on_page,
    suggestions,
    terms_for,
)
from survey.desk.told import framed, told
from survey.examination.models import Observation
from survey.reading.models import Reading
from survey.reports.dossier import dossier_of
from survey.reports.drawing import Ground

PICTURES = {
    "shaded": "The relief alone, as lit from the top left",
    "depth": "Order of depth: lighter lies nearer",
    "difference": "The difference between the two lamps",
}


@require_safe
@login_required
def relief_page(request: HttpRequest, key: UUID) -> HttpResponse:
    seen = told(request, key)
    side = side_of(seen, request.GET.get("side"))
    read = shown(seen, Reading.Kind.RELIEF, side)
    pictures = [
        {"name": name, "address": address}
        for code, name in PICTURES.items()
        if (address := read.picture(code))
    ]
    ground = ground_made(read, pictures)
    found = suggestions(read, dossier_of(seen.examination))
    return render(
        request,
        "desk/lights/relief.html",
        framed(seen, "relief")
        | {
            "side": side,
            "sides": sides(seen, side),
            "reading": read,
            "result": read.result,
            "ground": ground,
            "pictures": pictures[1:],
            # Two lamps show a difference only, and suggest nothing.
            "has_marks": bool(read.picture("shaded")) and read.result is not None,
            "marks": [drawn(one, ground) for one in found] if ground else [],
            "terms": terms_for("raking"),
            "natures": Observation.Nature.choices,
        },
    )


def drawn(one: Suggestion, ground: Ground) -> dict[str, Any]:
    """A mark as the page draws and tells it."""
    mark = one.told
    steep = f"slopes of {mark['steepness']:.1f}°" if mark["steep_known"] else ""
    return on_page(one, ground) | {
        "about": ", ".join(
            part
            for part in (
                f"{mark['length_mm']:.0f} ± {math.ceil(mark['length_u_mm'])} mm long",
                f"stands out {mark['strength']:.0f} times the usual",
                steep,
            )
            if part
        ),
        "is_drawn": mark["drawn"],
        "is_closed": is_closed("relief", mark),
    }
