"""One check of a loan as its page shows it: each point as it was and as it is, and who signed."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django.urls import reverse

from survey.desk.lying import for_sheet_view, outlines, sheet_of
from survey.examination.models import Examination, Observation
from survey.loans.conditions import Held, held_against, packed_before
from survey.loans.models import LoanCheck, PointCheck
from survey.reading.placement import Lie, size_of
from survey.reading.queries import lies_of
from survey.reports.check_content import (
    NO_DETAIL,
    State,
    added_since,
    answer_in_words,
    asked_of,
    earlier_told_of,
    lacking_of,
    loaned_of,
    result_of,
    why_not_shown,
)
from survey.reports.content import Line, lines_of
from survey.reports.details import box_of
from survey.reports.dossier import Amended, Noted, dossier_of
from survey.reports.figures import Shape, shape_at, shapes_of
from survey.reports.pictures import Plate, upright_sizes
from survey.reports.places import placed_on_sheet, places_of
from survey.reports.words import day_in_words, field_name, value_in_words
from survey.vocabulary.phrases import lower_first

PART_PX = 900
# What of an observation may be other than it was.
COMPARED = ("term", "nature", "severity", "extent", "side", "note")


@dataclass(frozen=True)
class Part:
    """Where a point lies on a photograph, or all of one on which nobody said where.

    width, height  of what is shown, in pixels of the photograph, which ``points`` count in
    points         of the outline as SVG has them; ring: of one point, with its radius
    """

    name: str
    address: str
    width: int
    height: int
    points: str = ""
    ring: tuple[float, float, float] | None = None


@dataclass(frozen=True)
class Point:
    """One thing that was known before.

    changes  (what, before, now) of the fields that say something else now
    parts    (when, part or None, why there is none) as it was, and as it is
    """

    number: int
    line: Line
    told: str
    answer: str
    code: str
    is_open: bool
    reason: str
    changes: list[tuple[str, str, str]]
    parts: list[tuple[str, Part | None, str]]


@dataclass(frozen=True)
class Finding:
    """What was newly seen, or, at a first check, all that was."""

    line: Line
    part: Part | None


@dataclass(frozen=True)
class Checked:
    """All of one check but its signatures."""

    now: State
    result: list[str]
    held: list[Held]
    earlier_told: str
    since: list[Amended]
    points: list[Point]
    findings: list[Finding]
    open: int
    photographs: list[dict[str, Any]]
    outlines: list[dict[str, Any]]
    sheet: dict[str, float] | None

    @property
    def answered(self) -> int:
        return len(self.points) - self.open


@dataclass(frozen=True)
class Seen:
    """A state with what counts of it, and what of that is drawn on its photographs.

    shapes    by the key of the photograph
    sizes     in pixels of the upright pictures
    on_sheet  how those lie of which it is known where on the sheet that is
    """

    state: State
    noted: list[Noted]
    shapes: Mapping[UUID, list[Shape]]
    sizes: Mapping[UUID, tuple[int, int]]
    on_sheet: Mapping[UUID, Lie]

    @property
    def plates(self) -> list[Plate]:
        return [one for one in self.state.dossier.plates if one.is_here and not one.trouble]

    def drawn(self, number: int) -> list[tuple[Plate, Shape]]:
        """The photographs on which this number is drawn, those of its own side first."""
        found = [
            (plate, shape)
            for plate in self.plates
            for shape in self.shapes[plate.photograph.pk]
            if shape.number == number
        ]
        return sorted(found, key=lambda one: one[1].is_behind)

    def place(self, known: Observation, number: int, before: "Seen") -> None:
        """Draw where something lay before, on the photographs of its side."""
        place = places_of(known, before.on_sheet, before.sizes)
        for plate in self.plates:
            photograph = plate.photograph
            lie = self.on_sheet.get(photograph.pk)
            if place and lie and photograph.side == known.side:
                self.shapes[photograph.pk].append(shape_at(known, number, place, lie))


def checked(check: LoanCheck) -> Checked:
    asked = asked_of(check)
    known, numbers = asked.known, asked.numbers
    now = _seen(check.examination, asked.nows, len(known), is_now=True)
    earlier = _earlier(known, numbers)
    findings = [one for one in now.noted if one.observation.pk not in asked.nows]
    points = [
        _point(one, numbers[one.pk], asked.answers.get(one.pk), earlier[one.examination_id], now)
        for one in known
    ]
    held = held_against(check, loaned_of(check), packed_before(check))
    full = now.state.dossier.examination
    states = [one.state for one in earlier.values()]
    return Checked(
        now.state,
        lacking_of(check)
        + result_of(check, [one.answer for one in points], len(findings), full.nothing_seen, held),
        held,
        earlier_told_of(check, states),
        added_since(check),
        points,
        [Finding(line, _part(now, line.number, None, "")) for line in lines_of(findings, {})],
        sum(one.is_open for one in points),
        _photographs(now, earlier.values()),
        _outlines(now, earlier.values()),
        sheet_of(full),
    )


def _seen(
    examination: Examination, numbers: Mapping[UUID, int], after: int, *, is_now: bool = False
) -> Seen:
    """numbers  of the points, by observation; ``after`` is the last of all. Of the check's own
    examination the new findings count too.
    """
    dossier = dossier_of(examination, numbers=numbers, after=after)
    lies = lies_of(dossier.examination)
    sizes = upright_sizes(dossier.plates)
    on_sheet = placed_on_sheet(lies)
    sheet_mm = size_of(dossier.examination)
    noted = [one for one in dossier.observations if is_now or one.observation.pk in numbers]
    shapes = {
        plate.photograph.pk: list(shapes_of(plate, noted, on_sheet, sizes, sheet_mm))
        for plate in dossier.plates
    }
    return Seen(State(dossier, lies), noted, shapes, sizes, on_sheet)


def _earlier(known: Iterable[Observation], numbers: Mapping[UUID, int]) -> dict[UUID, Seen]:
    """The states that the points were known from, latest first."""
    keys = {one.examination_id for one in known}
    found = Examination.objects.filter(pk__in=keys).order_by("-started_at", "-id")
    return {one.pk: _seen(one, numbers, len(numbers)) for one in found}


def _point(
    known: Observation, number: int, answer: PointCheck | None, before: Seen, now: Seen
) -> Point:
    [line] = lines_of([before.state.noted[known.pk]], {})
    found = now.state.noted.get(answer.now_id) if answer and answer.now_id else None
    if not now.drawn(number):
        now.place(known, number, before)
    light = _light_of_both(known, before.drawn(number), now.drawn(number))
    then = _part(before, number, None, light)
    after = _part(now, number, answer.photograph_id if answer else None, light)
    taken = [plate.photograph for plate in now.plates]
    gap = why_not_shown(known, taken, now.on_sheet)
    is_open = answer is None or not (answer.answer == PointCheck.Answer.SAME or answer.reason)
    return Point(
        number,
        line,
        before.state.told,
        answer_in_words(answer),
        "open" if is_open or answer is None else answer.answer or "left-open",
        is_open,
        answer.reason if answer else "",
        _changes(known, found) if found else [],
        [
            (f"Earlier, {before.state.told}", then, NO_DETAIL),
            ("Now" if found else "The same place now", after, gap),
        ]
        if then or after
        else [],
    )


def _light_of_both(
    known: Observation, before: list[tuple[Plate, Shape]], now: list[tuple[Plate, Shape]]
) -> str:
    """The light under which both states show it: one that shows it well, if there is one."""
    lights = [{plate.photograph.light for plate, _ in drawn} for drawn in (before, now)]
    wanted = [*known.lights, "normal"]
    shared = [light for light in wanted if light in lights[0] & lights[1]]
    return (shared or wanted)[0]


def _changes(before: Observation, found: Noted) -> list[tuple[str, str, str]]:
    now = found.observation
    return [
        (field_name(name), _told(before, name), _told(now, name))
        for name in COMPARED
        if getattr(before, name) != getattr(now, name)
    ]


def _told(observation: Observation, name: str) -> str:
    value = getattr(observation, name)
    return value.name if name == "term" else value_in_words("observation", name, value)


def _part(seen: Seen, number: int, wanted: UUID | None, light: str) -> Part | None:
    """Where an observation lies, on the photograph that shows it best.

    wanted  the key of the photograph to take rather than others
    light   the light to prefer, so that two states are seen alike
    """
    named = next((one for one in seen.plates if one.photograph.pk == wanted), None)
    drawn = seen.drawn(number)
    drawn.sort(key=lambda one: (one[0] is not named, one[0].photograph.light != light))
    if drawn and (named is None or drawn[0][0] is named):
        return _cut(*drawn[0], seen.sizes)
    if named is None:
        return None
    address = reverse("api-preview", args=[named.photograph.sha256])
    return Part(named.name, address, *seen.sizes[named.photograph.pk])


def _cut(plate: Plate, shape: Shape, sizes: Mapping[UUID, tuple[int, int]]) -> Part:
    left, top, right, bottom = box_of(shape, sizes[plate.photograph.pk])
    size = {"x": left, "y": top, "width": right - left, "height": bottom - top}
    address = reverse("api-region", args=[plate.photograph.sha256])
    moved = [(x - left, y - top) for x, y in shape.points]
    is_ring = len(moved) == 1
    return Part(
        plate.name,
        f"{address}?{urlencode(size | {'longest': PART_PX})}",
        right - left,
        bottom - top,
        "" if is_ring else " ".join(f"{x:.6g},{y:.6g}" for x, y in moved),
        (*moved[0], 0.06 * (right - left)) if is_ring else None,
    )


def _photographs(now: Seen, earlier: Iterable[Seen]) -> list[dict[str, Any]]:
    """All that can be shown, as the sheet view takes them: of each side and light the earlier
    beside the later, normal light first."""
    found = []
    states = [(day_in_words(one.state.dossier.examination.started_at), one) for one in earlier]
    for when, seen in [*states[:1], ("Now", now), *states[1:]]:
        shown = for_sheet_view(seen.plates, seen.state.lies, seen.sizes)
        found += [one | {"name": f"{when}: {lower_first(one['name'])}"} for one in shown]
    order = list(dict.fromkeys((one["side"], one["light"]) for one in found))
    order.sort(key=lambda pair: (pair[0] != "recto", pair[1] != "normal"))
    return sorted(found, key=lambda one: order.index((one["side"], one["light"])))


def _outlines(now: Seen, earlier: Iterable[Seen]) -> list[dict[str, Any]]:
    """Each point once: as it is, or, where it was not seen, as it was."""
    drawn = outlines(now.noted, now.state.lies, now.sizes)
    found = {one.number for one in now.noted}
    for seen in earlier:
        missed = [one for one in seen.noted if one.number not in found]
        drawn += outlines(missed, seen.state.lies, seen.sizes)
    return drawn
