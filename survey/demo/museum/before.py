"""An examination of some years ago, of a sheet that one of the recent rounds examined again."""

from dataclasses import dataclass, replace

from survey.demo.museum.photographs import Shot, Sitting
from survey.demo.museum.rounds import CASES, CONSERVATOR, Case
from survey.demo.museum.sheets import Sighting


@dataclass(frozen=True)
class Before:
    """The same sheet as in ``case``, before ``not_yet`` of its terms had come.

    ``not_yet`` are the last terms the case tells, so that all others lie where they lay.
    """

    case: Case
    years_ago: int
    person: str
    visit: str
    not_yet: frozenset[str]
    grade: str
    lights: tuple[str, ...] = ("normal",)


BEFORE = (
    Before(
        next(case for case in CASES if not case.signed and "tear 2" in case.seen),
        3,
        CONSERVATOR,
        "Drawings for the handlist",
        frozenset({"tear", "tideline"}),
        "good",
    ),
)


def sitting_before(before: Before, now: Sitting) -> Sitting:
    """Its photographs then, from another place of the camera."""
    recipe = now.recipe
    marks = tuple(mark for mark in recipe.marks if mark.term not in before.not_yet)
    shots = tuple(Shot(light) for light in before.lights)
    return replace(now, recipe=replace(recipe, marks=marks), shots=shots, by_hand=True)


def seen_before(before: Before, sightings: list[Sighting]) -> list[Sighting]:
    return [one for one in sightings if one.term not in before.not_yet]
