"""Sheets that may come from the same mould, most likely first, one laid over the other."""

from typing import Any
from uuid import UUID

import numpy as np
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from survey.desk.overlaid import Sheet, laid, likelihood_in_words, onto_first
from survey.desk.readings import Shown, shown
from survey.desk.told import Told, framed, told
from survey.examination.models import Examination, Side
from survey.reading.models import Reading
from survey.reading.placement import as_numbers
from survey.reading.queries import Mate, lies_of, mates_of
from survey.reports.pictures import Plate, plates_of, upright_sizes

# How the other sheet comes to lie on this one; see survey.imaging.mould.
TURNED = {
    "as is": "as it lies",
    "turned over": "turned over",
    "half turn": "turned by half a turn",
    "turned over and half turn": "turned over head to foot",
}


@require_safe
@login_required
def mates_page(request: HttpRequest, key: UUID) -> HttpResponse:
    seen = told(request, key)
    mates = mates_of(seen.examination)
    chosen = next(
        (one for one in mates if str(one.reading.pk) == request.GET.get("sheet")),
        mates[0] if mates else None,
    )
    read = _compared(seen)
    return render(
        request,
        "desk/lights/same_mould.html",
        framed(seen, "same-mould")
        | {
            "side": read.side,
            "reading": read,
            "mates": [
                {
                    "mate": mate,
                    "likelihood": likelihood_in_words(mate.likeness.log_ratio),
                    "is_chosen": mate is chosen,
                }
                for mate in mates
            ],
            "chosen": chosen,
        }
        | (_overlaid(seen, read, chosen) if chosen else {}),
    )


def _compared(seen: Told) -> Shown:
    """The paper reading that stands for this sheet: of the recto, if it has chain lines."""
    readings = [shown(seen, Reading.Kind.PAPER, side) for side in Side.values]
    return next((one for one in readings if one.result and one.result["chains"]), readings[0])


def _overlaid(seen: Told, read: Shown, mate: Mate) -> dict[str, Any]:
    """The two sheets in one drawing; nothing where no chain lines fall together."""
    mine, other = read.result, mate.reading.stands
    if mate.likeness.offset is None or not mine or not other:
        return {}
    theirs = plates_of([mate.examination.pk]).get(mate.examination.pk, [])
    return {
        "turned": TURNED[mate.likeness.turned],
        "mine": laid(_sheet(seen.examination, seen.plates, mine), np.eye(3)),
        "other": laid(
            _sheet(mate.examination, theirs, other),
            onto_first(mine, other, mate.likeness.offset),
        ),
        "width": mine["width_mm"],
        "height": mine["height_mm"],
    }


def _sheet(examination: Examination, plates: list[Plate], result: dict[str, Any]) -> Sheet:
    plate = next((one for one in plates if str(one.photograph.pk) == result["photograph"]), None)
    lie = lies_of(examination).get(plate.photograph.pk) if plate else None
    if plate is None or lie is None or not plate.is_here:
        return Sheet(result, "", (1, 1), None)
    address = reverse("api-preview", args=[plate.photograph.sha256])
    return Sheet(
        result, address, upright_sizes([plate])[plate.photograph.pk], as_numbers(lie.matrix)
    )
