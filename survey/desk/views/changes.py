"""What changed on the sheet since an earlier examination, under one light."""

from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from survey.desk.grounds import ground_made
from survey.desk.growth_words import difference_in_words, growth_in_words
from survey.desk.readings import Shown, shown
from survey.desk.sides import side_of, sides
from survey.desk.suggestions import Suggestion, on_page, suggestions, terms_for
from survey.desk.told import Told, check_may_correct, framed, told
from survey.desk.views.session import person_of
from survey.examination.models import Observation, Photograph
from survey.reading import services
from survey.reading.models import Reading
from survey.reading.queries import earlier_placed, latest_changes
from survey.reading.trouble import CannotAsk
from survey.reports.dossier import dossier_of
from survey.reports.drawing import Ground
from survey.reports.words import day_in_words, light_name
from survey.vocabulary import queries as vocabulary
from survey.vocabulary.phrases import lower_first

# The three pictures of a reading, in the order they are offered to look at.
PICTURES = {
    "earlier": "Earlier, {earlier}",
    "later": "Later, {later}",
    "map": "Differences: mid grey is none, lighter or darker as the sheet is now",
}


@require_safe
@login_required
def changes_page(request: HttpRequest, key: UUID) -> HttpResponse:
    seen = told(request, key)
    side = side_of(seen, request.GET.get("side"))
    light, lights = light_and_lights(seen, side, request.GET.get("light"))
    read = shown(seen, Reading.Kind.CHANGES, side, {"light": light})
    found = suggestions(read, dossier_of(seen.examination))
    terms = noted_terms(found)
    pictures = pictures_of(seen, read)
    # The earlier picture, to draw the outlines on.
    ground = ground_made(read, pictures)
    return render(
        request,
        "desk/lights/changes.html",
        framed(seen, "changes")
        | {
            "side": side,
            "sides": sides(seen, side),
            "light": light,
            "lights": lights,
            "light_name": light_name(light, None),
            "before": before(seen, side, light, read, request.GET.get("earlier")),
            "reading": read,
            "result": read.result,
            "pictures": pictures,
            "shown": for_sheet_view(read, pictures),
            "lines": [],
            "outlines": [outline(one, side) for one in found if not one.is_dismissed],
            "sheet": {name: read.result[name] for name in ("width_mm", "height_mm")}
            if read.result
            else None,
            "apart": apart_in_words(read.result["apart_mm"]) if read.result else "",
            "ground": ground,
            "regions": [drawn(one, ground, terms) for one in found if "strength" in one.told],
            "noted": [drawn(one, ground, terms) for one in found if "strength" not in one.told],
            "numbered": [on_page(one, ground) for one in found],
            "terms": terms_for(light),
            "natures": Observation.Nature.choices,
            "severities": Observation.Severity.choices,
        },
    )


@require_POST
@login_required
def compare(request: HttpRequest, key: UUID) -> HttpResponse:
    """Ask what changed since an earlier photograph."""
    seen = told(request, key)
    check_may_correct(seen)
    side = side_of(seen, request.POST.get("side"))
    given = {name: value for name in ("light", "earlier") if (value := request.POST.get(name, ""))}
    light = given.get("light", "")
    try:
        reading = services.ask(
            Reading.Kind.CHANGES, seen.examination, side, person_of(request), given
        )
    except CannotAsk as error:
        messages.error(request, str(error))
    else:
        if reading.given.get("light") != light:
            messages.error(
                request,
                "Another light of this side is being compared just now. Ask again when that is "
                "done.",
            )
    address = reverse("desk:changes", args=[seen.examination.pk])
    return redirect(f"{address}?side={side}&light={light}")


def light_and_lights(
    seen: Told, side: str, asked: str | None
) -> tuple[str, list[tuple[str, str, bool]]]:
    """The light to show, and those to choose from: code, name, whether it is shown now.

    Without a word, the one that was compared last, else normal light.
    """
    here = {plate.photograph.light for plate in seen.plates if plate.photograph.side == side}
    codes = [str(light["code"]) for light in vocabulary.lights() if light["code"] in here]
    compared = latest_changes(seen.examination, side)
    newest = max(compared, key=lambda code: compared[code].asked_at, default="normal")
    wanted = asked if asked and asked in codes else newest
    light = wanted if wanted in codes or not codes else codes[0]
    return light, [(code, light_name(code, None), code == light) for code in codes]


def before(
    seen: Told, side: str, light: str, read: Shown, asked: str | None = None
) -> list[dict[str, Any]]:
    """The earlier photographs to choose from, the latest first.

    asked  the key of the one to choose at first; else the one that was compared with
    """
    used = asked or (read.result or {}).get("earlier")
    found = [one for one in reversed(earlier_placed(seen.examination, side)) if one.light == light]
    return [
        {
            "key": str(one.pk),
            "name": f"{day_in_words(one.taken_at)}, {light_name(one.light, one.azimuth_deg)}",
            "is_used": str(one.pk) == used,
        }
        for one in found
    ]


def pictures_of(seen: Told, read: Shown) -> list[dict[str, str]]:
    if read.result is None:
        return []
    taken = Photograph.objects.in_bulk([read.result["earlier"], read.result["later"]])
    days = {
        name: day_in_words(one.taken_at)
        for name in ("earlier", "later")
        if (one := taken.get(UUID(read.result[name])))
    }
    return [
        {"code": code, "name": name.format(**days), "address": address}
        for code, name in PICTURES.items()
        if (address := read.picture(code))
    ]


def for_sheet_view(read: Shown, pictures: list[dict[str, str]]) -> list[dict[str, Any]]:
    """The pictures as the sheet view takes photographs: each shows the sheet alone."""
    if read.result is None:
        return []
    mm = 1 / read.result["px_per_mm"]
    return [
        {
            "id": picture["code"],
            "light": read.result["light"],
            "azimuth_deg": read.result["azimuth_deg"],
            "side": read.side,
            "name": picture["name"],
            "width_px": round(read.result["width_mm"] / mm),
            "height_px": round(read.result["height_mm"] / mm),
            "preview": picture["address"],
            "homography": [mm, 0, 0, 0, mm, 0, 0, 0, 1],
        }
        for picture in pictures
    ]


def apart_in_words(apart_mm: float) -> str:
    if apart_mm < 0.05:
        return "The paper lay as flat as it had lain, to less than 0.1 mm."
    return (
        f"The paper had moved within itself by up to {apart_mm:.1f} mm (95 % of places), and was "
        "put back."
    )


def outline(one: Suggestion, side: str) -> dict[str, Any]:
    """A suggestion as the sheet view outlines it."""
    return {
        "id": str(one.place),
        "number": one.number,
        "name": one.told["words"].capitalize(),
        "side": side,
        "nature": "unsure",
        "points": one.told["points"],
    }


def drawn(
    one: Suggestion, ground: Ground | None, terms: Mapping[str, tuple[str, str]]
) -> dict[str, Any]:
    """A suggestion as the page draws and tells it.

    terms  of the observations that were noted before, by their keys
    """
    told = one.told
    noted = told.get("noted")
    known = terms.get(noted["observation"]) if noted else None
    growth = growth_in_words(told["growth"]) if "growth" in told else ""
    is_measured = "change" in told.get("growth", {})
    differs = about(told)
    if differs and growth and not is_measured:
        # One paragraph: else the size of the difference and "not measured" seem to quarrel.
        differs, growth = f"{differs} {of_the_whole(growth)}", ""
    return on_page(one, ground) | {
        "about": differs,
        "growth": growth,
        "is_measured": is_measured,
        "was_noted": noted["name"] if noted else "",
        "term": known,
    }


def about(told: Mapping[str, Any]) -> str:
    """How large the place that differs is, and how; "" where none differs."""
    if "strength" not in told:
        return ""
    lighter = "lighter" if told["percent"] > 0 else "darker"
    spread = max(0.1, told["percent_u"])
    return (
        f"What differs is {difference_in_words(told)}; in its middle "
        f"{abs(told['percent']):.1f} ± {spread:.1f} % {lighter}; "
        f"it stands out {told['strength']:.0f} times as much as the least that is told."
    )


def of_the_whole(sentence: str) -> str:
    """Why a thing itself was not measured, after how far the photographs differ there."""
    return f"Of the mark itself: {lower_first(sentence)}"


def noted_terms(found: Sequence[Suggestion]) -> dict[str, tuple[str, str]]:
    """Key and name of the terms of what was noted before, by the observation's key."""
    keys = [one.told["noted"]["observation"] for one in found if "noted" in one.told]
    rows = Observation.objects.filter(pk__in=[key for key in keys if key])
    return {str(one.pk): (one.term_id, one.term.name) for one in rows.select_related("term")}
