"""What the desk's templates need beside Django's own tags."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django import template

from survey.desk import exposure_words, survey_words
from survey.loans.hands import half_signed
from survey.reports import treatment_words, words
from survey.triage import history, rule, services
from survey.vocabulary import queries as vocabulary

register = template.Library()

STRIP_WIDTH = 200
STRIP_GAP = 3

register.filter("light_name", words.light_name)
register.filter("field_name", words.field_name)
register.filter("entity_name", words.entity_name)
register.filter("half_signed", half_signed)
register.filter("duration", words.duration_in_words)
register.filter("shot_check", words.shot_check_in_words)
register.filter("treatment_standing", treatment_words.standing_in_words)
register.filter("decision_words", treatment_words.decision_in_words)
register.filter("grouped", exposure_words.grouped)
register.filter("lux_hours", exposure_words.lux_hours_in_words)
register.filter("balance", exposure_words.balance_in_words)
register.filter("balance_state", exposure_words.state_in_words)
register.filter("whose", exposure_words.whose_in_words)
register.filter("pace", exposure_words.pace_in_words)
register.filter("share_value", survey_words.share_value)
register.filter("share_between", survey_words.share_between)
register.filter("share", survey_words.share_in_words)
register.filter("as_objects", survey_words.objects_in_words)
register.filter("hours_value", survey_words.hours_value)
register.filter("hours_told", survey_words.hours_in_words)
register.filter("boxes_value", survey_words.boxes_value)
register.filter("boxes_told", survey_words.boxes_in_words)
register.filter("total_between", survey_words.total_between)
register.filter("sureness", survey_words.sureness_in_words)
register.filter("drawn_from", survey_words.drawn_from)


register.filter("moved", history.moved_in_words)


@register.filter
def plain(number: float) -> str:
    """``4``, ``1.5``, ``0.25``: no decimals that say nothing."""
    return f"{number:.10g}"


@register.filter
def valued(one: Any, unit: str) -> str:
    """``12.4 ± 0.3 mm``, of what has a value and its uncertainty."""
    return words.valued(one.value, one.uncertainty, unit)


@register.filter
def kind_name(code: str) -> str:
    return words.entry_name(vocabulary.kinds_of_work(), code)


@register.filter
def queue_query(code: str) -> str:
    """The address' query for a queue: ``paper/treat`` is ``studio=paper&kind=treat``."""
    studio, _, kind = code.partition("/")
    return urlencode({"studio": studio, "kind": kind})


@register.filter
def any_unknown(weeks: list[Any]) -> bool:
    """Whether work without hours is due in any of the weeks."""
    return any(week.unknown for week in weeks)


@register.filter
def any_working(loads: list[Any]) -> bool:
    """Whether anybody's working hours are set."""
    return any(load.working is not None for load in loads)


@register.filter
def is_queue_of(code: str, filters: Any) -> bool:
    """Whether the filters show this queue, or what is held."""
    wanted = filters.wanted or {}
    if code == "held":
        return bool(wanted.get("held"))
    return bool(wanted) and code == f"{wanted['studio']}/{wanted['kind']}" and not wanted["held"]


@register.filter
def grade_name(code: str) -> str:
    return words.entry_name(vocabulary.grades(), code) if code else "Not graded"


@register.filter
def graded(code: str) -> str:
    """``graded poor``, ``not graded``: within a sentence."""
    name = grade_name(code).lower()
    return f"graded {name}" if code else name


@register.filter
def hazard(code: str) -> dict[str, Any]:
    """The hazard's entry: name, sentence, action, caution."""
    known = {entry["code"]: entry for entry in vocabulary.hazards()}
    return known.get(code, {"name": code, "sentence": "", "action": "", "caution": None})


@register.filter
def names_of_lights(codes: list[str]) -> str:
    return ", ".join(words.light_name(code) for code in codes)


@register.filter
def of(mapping: Mapping[Any, Any], key: Any) -> Any:
    """The value under a key, or nothing."""
    return mapping.get(key)


@register.filter
def stands_at(item: Any, paths: dict[Any, str]) -> str:
    """Where an object stands."""
    return words.standing_at(item.location_id, item.off_site_place, paths)


@register.filter
def visited(visit: Any, paths: dict[Any, str]) -> str:
    """Where a visit went."""
    return words.standing_at(visit.location_id, visit.place, paths)


@register.filter
def move_to(move: Any, paths: dict[Any, str]) -> str:
    return words.standing_at(move.to_location_id, move.to_place, paths)


@register.filter
def move_from(move: Any, paths: dict[Any, str]) -> str:
    return words.standing_at(move.from_location_id, move.from_place, paths)


@register.filter
def caution_name(code: str) -> str:
    return words.entry_name(vocabulary.cautions(), code)


@register.filter
def sheet_size(item: Any) -> str:
    return words.size_in_words(item.width_mm, item.height_mm)


@register.filter
def can_plan(person: Any) -> bool:
    return services.may_plan(person)


@register.inclusion_tag("desk/_light.html")
def light_figure(light: str, azimuth_deg: float | None = None, size: int = 44) -> dict[str, Any]:
    """A light as what it is: the sheet in cross-section, and where the light comes from."""
    has_plan = light == "raking" and azimuth_deg is not None
    return {
        "light": light,
        "azimuth_deg": azimuth_deg,
        "has_plan": has_plan,
        "width": size * (2 if has_plan else 1),
        "height": size,
    }


@dataclass(frozen=True)
class Bar:
    """One part of a score: its room, and how much of it is filled, in the strip's units."""

    x: float
    room: float
    got: float


@register.inclusion_tag("desk/_strip.html")
def strip(scored: rule.Score) -> dict[str, Any]:
    """The five parts of a score side by side, each filled as far as its points go."""
    lines = [line for line in scored.lines if line.maximum_tenths]
    unit = (STRIP_WIDTH - STRIP_GAP * (len(lines) - 1)) / rule.FULL_TENTHS
    bars, x = [], 0.0
    for line in lines:
        room = line.maximum_tenths * unit
        bars.append(Bar(round(x, 2), round(room, 2), round(line.tenths * unit, 2)))
        x += room + STRIP_GAP
    return {"bars": bars, "width": STRIP_WIDTH}


@register.filter
def weightiest(scored: rule.Score) -> list[rule.Line]:
    """The two lines that give most points: why the row stands where it stands, in short."""
    return sorted((line for line in scored.lines if line.tenths), key=lambda line: -line.tenths)[:2]
