"""An examination of some years ago, of a sheet that one of the recent rounds examined again."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from survey.demo.museum.photographs import Shot, Sitting
from survey.demo.museum.rounds import CASES, CONSERVATOR, HEAD, Case
from survey.demo.museum.sheets import Sighting
from survey.demo.sheet.geometry import first_part
from survey.demo.sheet.recipe import Mark


@dataclass(frozen=True)
class Before:
    """The same sheet as in ``case``, before ``not_yet`` of its terms had come.

    ``not_yet`` are the last terms the case tells, so that all others lie where they lay.
    ``shorter`` are terms told by a line that was shorter then: its share of the length it has now,
    and how severe it was.
    """

    case: Case
    years_ago: float
    person: str
    visit: str
    not_yet: frozenset[str]
    grade: str
    lights: tuple[str, ...] = ("normal",)
    shorter: Mapping[str, tuple[float, str]] = field(default_factory=dict)


# A print whose tear ran further from one examination to the next.
_TORN = next(case for case in CASES if case.signed and {"tear 2", "loss 2"} <= set(case.seen))

BEFORE = (
    Before(
        next(case for case in CASES if not case.signed and "tear 2" in case.seen),
        3,
        CONSERVATOR,
        "Drawings for the handlist",
        frozenset({"tear", "tideline"}),
        "good",
    ),
    *(
        Before(
            _TORN,
            years_ago,
            person,
            visit,
            frozenset(not_yet),
            grade,
            lights,
            {"tear": (share, severity)},
        )
        for years_ago, person, visit, not_yet, grade, lights, share, severity in (
            (9, HEAD, "Survey of the prints", ("foxing",), "fair", ("normal",), 0.46, "slight"),
            (
                6,
                CONSERVATOR,
                "Box rack 3, rehousing",
                ("foxing",),
                "fair",
                ("normal",),
                0.63,
                "slight",
            ),
            (
                3,
                CONSERVATOR,
                "Prints with open tears",
                (),
                "fair",
                ("normal", "ultraviolet"),
                0.83,
                "moderate",
            ),
        )
    ),
)


def sitting_before(before: Before, now: Sitting) -> Sitting:
    """Its photographs then, from another place of the camera."""
    recipe = now.recipe
    marks = tuple(
        as_it_was(before, mark) for mark in recipe.marks if mark.term not in before.not_yet
    )
    shots = tuple(Shot(light) for light in before.lights)
    return replace(now, recipe=replace(recipe, marks=marks), shots=shots, by_hand=True)


def seen_before(before: Before, sightings: list[Sighting]) -> list[Sighting]:
    seen = []
    for one in sightings:
        if one.term in before.not_yet:
            continue
        if one.mark is not None and one.term in before.shorter:
            _, severity = before.shorter[one.term]
            one = replace(one, mark=as_it_was(before, one.mark), severity=severity)
        seen.append(one)
    return seen


def as_it_was(before: Before, mark: Mark) -> Mark:
    share, _ = before.shorter.get(mark.term, (1.0, ""))
    return mark if share == 1.0 else replace(mark, points=first_part(mark.points, share))
