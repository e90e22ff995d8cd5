"""What the sheet answers to the ultraviolet lamp, and how long the lamp was on it."""

import math
from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from survey.desk.grounds import ground_under
from survey.desk.lamp import duration_in_words, lamp_time
from survey.desk.readings import shown
from survey.desk.sides import side_of, sides
from survey.desk.suggestions import Suggestion, on_page, suggestions, terms_for
from survey.desk.told import framed, told
from survey.examination.models import Observation
from survey.reading.models import Reading
from survey.reports.dossier import dossier_of
from survey.reports.drawing import Ground
from survey.vocabulary import queries as vocabulary


@require_safe
@login_required
def ultraviolet_page(request: HttpRequest, key: UUID) -> HttpResponse:
    seen = told(request, key)
    side = side_of(seen, request.GET.get("side"))
    read = shown(seen, Reading.Kind.ULTRAVIOLET, side)
    found = suggestions(read, dossier_of(seen.examination)) if read.result else []
    ground = ground_under(seen, read, "ultraviolet")
    lamp = lamp_time(seen.examination)
    caution = next(one for one in vocabulary.cautions() if one["code"] == "ultraviolet")
    return render(
        request,
        "desk/lights/ultraviolet.html",
        framed(seen, "ultraviolet")
        | {
            "side": side,
            "sides": sides(seen, side),
            "reading": read,
            "result": read.result,
            # What the reading's own sentence does not say already.
            "overall": [
                one
                for one in (
                    (read.result or {}).get("sentence", ""),
                    *(read.result or {}).get("sentences", []),
                )
                if one and read.reading and one not in read.reading.sentence
            ],
            "ground": ground,
            "regions": [drawn(one, ground) for one in found],
            "terms": terms_for("ultraviolet"),
            "natures": Observation.Nature.choices,
            "lamp": lamp,
            "lamp_here": duration_in_words(lamp.here_s) if lamp.here_s else "None noted",
            "lamp_in_all": duration_in_words(lamp.in_all_s) if lamp.in_all_s else "None noted",
            "caution": caution,
        },
    )


def drawn(one: Suggestion, ground: Ground | None) -> dict[str, Any]:
    """A region as the page draws and tells it."""
    told = one.told
    return on_page(one, ground) | {
        "ratio": f"{told['ratio']:.2f} ± {told['uncertainty']:.2f} times as bright as the paper "
        f"around it; {told['area_mm2']:.0f} ± {math.ceil(told['area_u_mm2'])} mm²",
    }
