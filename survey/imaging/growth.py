"""How much longer a tear or a crease, or how much larger a stain is than it was, with uncertainty.

Both pictures lie on each other, so both are measured in the same millimetres: how well the sheet's
own size is known, and how the photographs lie on it, is the same for both and falls out of the
difference but for a share of the difference itself. Nothing here says what a change means.
"""

import math
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.ndimage import maximum_filter1d

from survey.imaging.differences import equally_sharp, even_light, tones
from survey.imaging.edges import Outlined, outlined
from survey.imaging.followed import (
    STEP_MM,
    Course,
    Points,
    Values,
    along,
    axis_of,
    followed,
    goes_on,
    length_of,
    sections,
)
from survey.imaging.geometry import Measured
from survey.imaging.opened import Plane
from survey.imaging.rectified import spread_of

Pixels = NDArray[np.uint8]

# A line that is longer than this many times its breadth is measured along, else as an area.
SLENDER = 4.0
# What is followed further aside of the outlined line than this, for most of it, is another one, mm.
ANOTHER_MM = 1.5
# A line is there where it shows this share of its strength in the other picture; it differs where
# the two do by so many standard deviations of what differs beside it.
THERE, CLEAR = 0.25, 4.0
# As a whole it stands out by so many of what is beside it, and of what differs there.
STANDS_OUT, CLEAR_APART = 2.0, 6.0
# Runs shorter than this are chance; gaps shorter than that are crossed, mm.
SHORTEST_MM, GAP_MM = 1.5, 3.0
# The ends of a line are looked for so far about where they seem to be, further where nobody
# outlined it; and told by so much more of its course.
LOOKED_MM, LOOKED_NEW_MM, BEFORE_MM = 3.0, 6.0, 3.0
# Neighbouring sections say the same over this length, mm.
ALIKE_MM = 0.75
# How strong a line is towards its end is told from so much of it; the way over which it comes to
# half of that counts to the end's uncertainty with this share.
LEVEL_MM, FADING = 8.0, 0.6
# What is drawn hides an end where it shows more than this share of the line's strength; nearer to
# an end than that, it is at the end, mm.
HIDES, AT_END_MM = 0.5, 0.5
# An end is elsewhere for sure when it has moved by so many standard uncertainties.
SURELY = 2.0
# One in so many of the sections' places is told.
POINTS_EVERY = 4
# Nearer than this to where the sheet ends, a line is taken to run out over its edge, mm.
EDGE_MM = 1.5
# What the uncertainty of an end never falls below: the blur of a photograph, and how well two lie
# on each other, mm. How far the length along a line differs with how it is followed, as a share.
END_MM, FOLLOWED = 0.2, 0.01

# Where the edge of a stain is said to be differs by this, the same way in both pictures, mm; so it
# falls out of their difference but for what the edge is longer by.
SOFT_MM = 0.4
# An area that differs by more than this from its outline is not what was outlined.
OTHERWISE = 2.0

NO_LINE = (
    "The line does not stand out of what is beside it in the later photograph, so its length is "
    "not measured. Measure it by hand, on the sheet or on a closer photograph."
)
GONE = (
    "The line that was there is hardly seen in the later photograph. It may have been mended, or "
    "the light hides it: look at the sheet."
)
NO_END = (
    "Where the line ends cannot be told from what is drawn or printed there, so its length is not "
    "measured. Measure it by hand."
)
NO_AREA = (
    "The edge of the place is not seen clearly all round in the later photograph, so its area is "
    "not measured. Outline it by hand, or photograph it under the light that shows it best."
)
NOT_AS_OUTLINED = (
    "What was outlined does not stand out clearly enough in the earlier photograph to measure its "
    "area there. Compare the two by eye, and outline it anew."
)


class NotMeasured(ValueError):
    """It cannot be measured. The message is a sentence for the person."""


@dataclass(frozen=True)
class Growth:
    """How large a thing was and is.

    kind      "line": lengths in mm; "area": in mm²
    earlier   None: not seen in the earlier picture
    later     as it is now
    change    later less earlier: negative when it is smaller
    is_whole  False: only the part that is new is known for sure, not where the older part begins,
              so ``earlier`` and ``later`` tell nothing
    points    of the line, or of the outline, where it is larger: sheet mm
    """

    kind: str
    earlier: Measured | None
    later: Measured
    change: Measured
    is_whole: bool
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Together:
    """Two pictures that lie on each other, in natural logarithms of light, equally sharp.

    yellow    the same of red over blue
    apart_mm  how well they lie on each other
    """

    light: tuple[Plane, Plane]
    yellow: tuple[Plane, Plane]
    px_per_mm: float
    apart_mm: float

    @property
    def size_mm(self) -> tuple[float, float]:
        rows, columns = self.light[0].shape
        return columns / self.px_per_mm, rows / self.px_per_mm


def together(earlier: Pixels, later: Pixels, px_per_mm: float, apart_mm: float = 0.1) -> Together:
    """Of two pictures (rows, columns, 3) sRGB that show the sheet alone, pixel on pixel."""
    whole = np.ones(earlier.shape[:2], dtype=bool)
    alike = equally_sharp(even_light(earlier, whole), even_light(later, whole), whole)
    before, after = (tones(light) for light in alike)
    return Together((before.light, after.light), (before.yellow, after.yellow), px_per_mm, apart_mm)


def growth_of(
    pictures: Together,
    points: ArrayLike,
    *,
    is_outline: bool,
    kind: str | None = None,
    is_new: bool = False,
    scale_share: float = 0.0,
) -> Growth:
    """What is at these points, as it was and as it is.

    points       of a line, or of an outline: sheet mm
    kind         "line" or "area"; None: by how slender the outline is
    is_new       they are where the later picture differs, so the difference shows it best
    scale_share  standard uncertainty of the sheet's size, as a share of it

    Raises NotMeasured with a sentence.
    """
    told = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    if is_outline and kind == "area":
        return _of_area(pictures, told, is_new, scale_share)
    if is_outline:
        axis, breadth = axis_of(told)
        length = length_of(axis)
        if kind is None and length < SLENDER * breadth:
            return _of_area(pictures, told, is_new, scale_share)
        told = axis
    return _of_line(pictures, told, is_new, scale_share)


# Lines


@dataclass(frozen=True)
class _Ends:
    """One end of a line: where it was and is, in sections along its course.

    was              None: not seen then
    was_u_mm, now_u_mm   their uncertainties
    grown_u_mm       of how far on it is: surer than either, since both show the same course
    at_edge          it runs out over the sheet's edge in both
    """

    was: float | None
    was_u_mm: float
    now: float
    now_u_mm: float
    grown_u_mm: float
    at_edge: bool = False

    @property
    def has_moved(self) -> bool:
        """Whether the difference shows for sure that it is elsewhere now."""
        if self.was is None:
            return True
        return (self.now - self.was) * STEP_MM > SURELY * self.grown_u_mm

    def turned(self, last: int) -> "_Ends":
        """Read from the other end of the course."""
        was = None if self.was is None else last - self.was
        return replace(self, was=was, now=last - self.now)


@dataclass(frozen=True)
class _Profile:
    """How strongly the line is seen along its course, (n,) each, and by how much that is chance."""

    was: Values
    now: Values
    chance: float
    chance_apart: float

    @property
    def apart(self) -> Values:
        return self.now - self.was


def _of_line(pictures: Together, line: Points, is_new: bool, scale_share: float) -> Growth:
    was, now = pictures.light
    apart = now - was
    both: Plane = (was + now) / np.float32(2)
    # A part that is new shows best in the difference, and what was there before goes on from it;
    # what was there before is known as far as a person outlined it.
    course = (
        followed(apart, [[apart], [was, now]], line, pictures.size_mm, pictures.px_per_mm)
        if is_new
        else followed(both, [[apart]], line, pictures.size_mm, pictures.px_per_mm)
    )
    if not is_new and _aside(course, line) > ANOTHER_MM:
        raise NotMeasured(NO_LINE)
    seen = _profile(pictures, course)
    spans = _spans(seen, course, pictures.size_mm, is_new)
    ends = _ends(seen, course, *spans, pictures, LOOKED_NEW_MM if is_new else LOOKED_MM)
    places = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(course.points, axis=0).T))])

    def length(first: float, last: float, u: float) -> Measured:
        one, other = np.interp([first, last], np.arange(len(places)), places)
        mm = float(other - one)
        return Measured(mm, math.hypot(u, (FOLLOWED + scale_share) * mm))

    later = length(ends[0].now, ends[1].now, math.hypot(*(end.now_u_mm for end in ends)))
    if ends[0].was is None or ends[1].was is None:
        earlier, change = None, later
    else:
        was_u = math.hypot(*(end.was_u_mm for end in ends))
        earlier = length(ends[0].was, ends[1].was, was_u)
        mm = later.value - earlier.value
        u = math.hypot(*(end.grown_u_mm for end in ends), (FOLLOWED + scale_share) * mm)
        change = Measured(mm, math.hypot(u, pictures.apart_mm))
    shown = course.points[max(0, round(ends[0].now)) : round(ends[1].now) + 1 : POINTS_EVERY]
    # Where nobody outlined what was there before, only the sheet's edge bounds it for sure.
    whole = earlier is None or not is_new or any(end.at_edge for end in ends)
    return Growth("line", earlier, later, change, whole, _as_told(shown))


def _aside(course: Course, line: Points) -> float:
    """How far the course mostly lies, where the line was known, from what was outlined, mm."""
    known = course.points[course.first : course.last + 1]
    apart = np.hypot(*np.moveaxis(known[:, None] - along(line)[None], 2, 0))
    return float(np.median(apart.min(axis=1)))


def _profile(pictures: Together, course: Course) -> _Profile:
    was, now = (
        sections(plane, course.points, pictures.px_per_mm) @ course.section
        for plane in pictures.light
    )
    beside: list[list[Values]] = [[], []]
    tangent = np.gradient(course.points, axis=0)
    tangent /= np.maximum(np.hypot(*tangent.T), 1e-9)[:, None]
    across = np.column_stack([-tangent[:, 1], tangent[:, 0]])
    for aside in (-7.0, -5.5, 5.5, 7.0):
        moved = course.points + aside * across
        inside = ((moved > 1) & (moved < np.array(pictures.size_mm) - 1)).all(axis=1)
        for place, plane in enumerate(pictures.light):
            found = sections(plane, moved, pictures.px_per_mm) @ course.section
            beside[place].append(found[inside])
    one, other = (np.concatenate(found) for found in beside)
    if len(one) < 8:
        raise NotMeasured(NO_LINE)
    chance = max(spread_of(one), spread_of(other))
    return _Profile(was, now, chance, max(spread_of(other - one), 1e-4))


def _usual(values: Values, length_mm: float = 2.0) -> Values:
    """A running median."""
    half = round(length_mm / STEP_MM / 2)
    padded = np.pad(values, half, mode="edge")
    return np.asarray(
        np.median(np.lib.stride_tricks.sliding_window_view(padded, 2 * half + 1), axis=1)
    )


def _spans(
    seen: _Profile, course: Course, size_mm: tuple[float, float], is_new: bool
) -> tuple[tuple[int, int] | None, tuple[int, int]]:
    """First and last section at which the earlier and the later picture show the line."""
    was, now, apart = _usual(seen.was), _usual(seen.now), _usual(seen.apart)
    core = slice(course.first, course.last + 1)
    usual = float(np.median(np.maximum(was, now)[core]))
    if usual <= max(STANDS_OUT * seen.chance, CLEAR_APART * seen.chance_apart):
        raise NotMeasured(NO_LINE)
    if is_new:
        # Most of what speaks for it less what speaks against it.
        told = np.clip(was - THERE * np.maximum(now, 0.5 * usual), -usual, usual)
        early = _best_part(told)
    else:
        early = course.first, course.last
        if np.median(now[core]) < THERE * np.median(was[core]):
            raise NotMeasured(GONE)
    differs = apart > max(CLEAR * seen.chance_apart, 0.1 * usual)
    if not is_new:
        # The sheet's edge throws another shadow each time it lies otherwise.
        inward = np.minimum(course.points, np.array(size_mm) - course.points).min(axis=1)
        differs &= inward > EDGE_MM
    gap = round(GAP_MM / STEP_MM)
    runs = _runs(differs, gap)
    if early is None:
        middle = (course.first + course.last) // 2
        late = max(runs, key=lambda run: min(run[1] - middle, middle - run[0]), default=None)
        if late is None:
            raise NotMeasured(NO_LINE)
        here = slice(late[0], late[1] + 1)
        if np.median(was[here]) > THERE * np.median(now[here]):
            raise NotMeasured(NO_END)
        return None, late
    first, last = early
    for run in runs:
        if run[0] <= last + gap and run[1] >= first - gap:
            first, last = min(first, run[0]), max(last, run[1])
    return early, (first, last)


def _runs(mask: NDArray[np.bool_], gap: int) -> list[tuple[int, int]]:
    """First and last of each run of True, those that are ``gap`` apart at most taken as one, but
    for the shortest."""
    places = np.flatnonzero(mask)
    if not len(places):
        return []
    breaks = np.flatnonzero(np.diff(places) > gap + 1)
    firsts = np.concatenate([[places[0]], places[breaks + 1]])
    lasts = np.concatenate([places[breaks], [places[-1]]])
    return [
        (int(one), int(other))
        for one, other in zip(firsts, lasts, strict=True)
        if other - one >= SHORTEST_MM / STEP_MM
    ]


def _best_part(told: Values) -> tuple[int, int] | None:
    """The part whose sum is the largest (Kadane's way); None when it is too short."""
    best, found = 0.0, None
    total, start = 0.0, 0
    for place, value in enumerate(told.tolist()):
        if total <= 0:
            total, start = 0.0, place
        total += value
        if total > best:
            best, found = total, (start, place)
    return found if found and found[1] - found[0] >= 2 * SHORTEST_MM / STEP_MM else None


def _ends(
    seen: _Profile,
    course: Course,
    was: tuple[int, int] | None,
    now: tuple[int, int],
    pictures: Together,
    looked_mm: float,
) -> list[_Ends]:
    """The two ends, the first one first."""
    size = len(course.points)
    found = []
    for side in (0, 1):
        # The same course read so that it ends to the right.
        turn = slice(None, None, -1) if side == 0 else slice(None)
        early = None if was is None else size - 1 - was[0] if side == 0 else was[1]
        late = size - 1 - now[0] if side == 0 else now[1]
        profile = _Profile(seen.was[turn], seen.now[turn], seen.chance, seen.chance_apart)
        over_edge = size - 1 - late <= EDGE_MM / STEP_MM and _is_at_edge(course, side, pictures)
        ends = _ends_near(profile, early, late, over_edge, looked_mm)
        # Where the earlier picture shows no end, only the difference can.
        if (
            ends.was is not None
            and not (ends.at_edge or ends.has_moved)
            and _goes_on(pictures, course, side, profile.was, ends.was)
        ):
            raise NotMeasured(NO_END)
        found.append(ends if side else ends.turned(size - 1))
    return found


def _goes_on(pictures: Together, course: Course, side: int, was: Values, end: float) -> bool:
    """Whether the earlier picture shows as strong a line beyond the end, as something drawn is.

    side  0: the end is the course's first
    was   the earlier picture's profile, read so that it ends to the right; and so is ``end``
    """
    turn = slice(None, None, 1 if side else -1)
    last = max(1, round(end))
    level = _level(was, last)
    known = course.points[turn][: last + 1]
    on = goes_on(pictures.light[0], known, course.section[turn], level, pictures.px_per_mm)
    return on > level


def _is_at_edge(course: Course, side: int, pictures: Together) -> bool:
    last = course.points[-1 if side else 0]
    return bool((last < EDGE_MM).any() or (np.array(pictures.size_mm) - last < EDGE_MM).any())


def _ends_near(
    seen: _Profile, early: int | None, late: int, over_edge: bool, looked_mm: float
) -> _Ends:
    """Where the line ended and ends, about these sections.

    Up to its earlier end the earlier picture shows the line, beyond it nothing; up to there the
    difference runs straight, from there on to the later end it shows the line, and beyond it none.
    All places are weighed by how well this fits, by least squares.
    """
    size = len(seen.was)
    edge = size - 0.5
    if over_edge and (early is None or late - early < SHORTEST_MM / STEP_MM):
        return _Ends(edge if early is not None else None, END_MM, edge, END_MM, 0.0, True)
    window, looked = (round(mm / STEP_MM) for mm in (looked_mm + BEFORE_MM, looked_mm))
    middle = late if early is None else early
    first, last = max(0, middle - window), min(size, late + window + 1)
    apart, was, now = (one[first:last] for one in (seen.apart, seen.was, seen.now))
    lates = [last - first] if over_edge else list(_near(late, looked, first, last))
    tried = []
    if early is None:
        for place in lates:
            tried.append((0, place, _to_nothing(apart, place), _to_nothing(now, place)))
    else:
        least = THERE * max(0.0, _level(seen.was, early))
        for one in _near(early, looked, first, last):
            was_left = _to_nothing(was, one)
            for place in lates:
                if place >= one:
                    left = _off_line(apart[:one]) + _to_nothing(apart[one:], place - one)
                    left += _too_weak(apart[one:place], least)
                    tried.append((one, place, left, was_left))
    table = np.array(tried)
    misfit = np.zeros(len(table))
    for column, chance in ((2, seen.chance_apart), (3, seen.chance)):
        rest = table[:, column]
        misfit += rest / max(chance**2, float(rest.min()) / len(apart))
    weights = np.exp(-(misfit - misfit.min()) / 2 * STEP_MM / ALIKE_MM)
    weights /= weights.sum()
    ends = table[:, :2] @ np.eye(2)
    one, other = weights @ ends
    spread_one, spread_other = np.sqrt(weights @ (ends - (one, other)) ** 2) * STEP_MM
    longer = ends[:, 1] - ends[:, 0]
    spread = math.sqrt(float(weights @ (longer - (other - one)) ** 2)) * STEP_MM
    faded_now = _faded(seen.now, first + round(float(other)))
    faded_was = 0.0 if early is None else _faded(seen.was, first + round(float(one)))
    hidden_was, hidden_now = _hidden(
        seen, None if early is None else first + round(float(one)), first + round(float(other))
    )
    # A section reaches half a step to either side of its place.
    return _Ends(
        None if early is None else first + float(one) - 0.5,
        math.hypot(float(spread_one), END_MM, faded_was, hidden_was),
        first + float(other) - 0.5,
        math.hypot(float(spread_other), END_MM, faded_now, hidden_now),
        math.hypot(spread, END_MM, faded_was, faded_now, hidden_was, hidden_now),
    )


def _faded(values: Values, end: int) -> float:
    """What the slow fading of a line towards its end adds to the end's uncertainty, mm."""
    inward = _usual(values[: end + 1], 1.0)[::-1]
    level = _level(inward[::-1], len(inward))
    strong = np.flatnonzero(inward >= level / 2)
    return FADING * (float(strong[0]) if len(strong) else len(inward)) * STEP_MM


def _level(values: Values, end: int) -> float:
    """How strong a line is up to its end."""
    return float(np.median(values[max(0, end - round(LEVEL_MM / STEP_MM)) : end]))


def _hidden(seen: _Profile, was: int | None, now: int) -> tuple[float, float]:
    """What it adds to the uncertainties of the two ends, mm, that something drawn hides them: the
    line may end anywhere along it, as likely here as there."""
    near = round(AT_END_MM / STEP_MM)
    level = _level(seen.now, now if was is None else was)
    drawn = np.abs(seen.was)
    # Up to its earlier end it is the line itself that is seen.
    drawn[: 0 if was is None else was + near] = 0.0
    hides = maximum_filter1d(drawn, 2 * near + 1) > max(HIDES * level, CLEAR * seen.chance)
    # What is new may still be seen through it.
    runs = _runs(hides & (_usual(seen.apart) < THERE * level), round(GAP_MM / STEP_MM))

    def hidden(end: int) -> float:
        here = (1 + last - first for first, last in runs if first - near <= end <= last + near)
        return sum(here) * STEP_MM / math.sqrt(12)

    return 0.0 if was is None else hidden(was), hidden(now)


def _near(place: int, looked: int, first: int, last: int) -> range:
    least = round(1.0 / STEP_MM)
    return range(max(place - looked, first + least) - first, min(place + looked, last) - first + 1)


def _to_nothing(values: Values, place: int) -> float:
    """What is left when a straight run ends at the place, squared and summed."""
    return _off_line(values[:place]) + float((values[place:] ** 2).sum())


def _too_weak(values: Values, least: float) -> float:
    """What is left because a line as strong as that is not seen all along, squared and summed."""
    return len(values) * max(0.0, least - float(values.mean())) ** 2 if len(values) else 0.0


def _off_line(values: Values) -> float:
    """What a straight line through the values leaves, squared and summed."""
    if len(values) < 3:
        return 0.0
    run = np.arange(len(values)) - (len(values) - 1) / 2
    slope = float(run @ values) / float(run @ run)
    return float(((values - values.mean() - slope * run) ** 2).sum())


def _as_told(points: Points) -> tuple[tuple[float, float], ...]:
    return tuple((round(float(x), 2), round(float(y), 2)) for x, y in points)


# Areas


def _of_area(pictures: Together, outline: Points, is_new: bool, scale_share: float) -> Growth:
    was, now = outlined(pictures.light, pictures.yellow, outline, pictures.px_per_mm)
    if now is None:
        raise NotMeasured(NO_AREA)
    drawn = float(cv2.contourArea(outline.astype(np.float32)))
    if not is_new:
        # A person drew about what was there: something else than that would be another thing.
        if was is None or not 1 / OTHERWISE < was.area_mm2 / drawn < OTHERWISE:
            raise NotMeasured(NOT_AS_OUTLINED)
    elif was and not 1 / OTHERWISE < abs(now.area_mm2 - was.area_mm2) / drawn < OTHERWISE:
        raise NotMeasured(NO_AREA)
    later = _measured(now, scale_share)
    if was is None:
        return Growth("area", None, later, later, True, now.points)
    mm2 = now.area_mm2 - was.area_mm2
    # At which share of its height the edge is taken should change little.
    apart = [other - one for one, other in zip(was.at_levels_mm2, now.at_levels_mm2, strict=True)]
    blotched = float(np.std([mm2, *apart]))
    soft = SOFT_MM * (now.border_mm - was.border_mm)
    u = math.hypot(was.uncertainty_mm2, now.uncertainty_mm2, blotched, soft, 2 * scale_share * mm2)
    larger = max((was, now), key=lambda one: one.area_mm2)
    earlier = _measured(was, scale_share)
    return Growth("area", earlier, later, Measured(mm2, u), True, larger.points)


def _measured(one: Outlined, scale_share: float) -> Measured:
    soft = SOFT_MM * one.border_mm
    u = math.hypot(one.uncertainty_mm2, soft, 2 * scale_share * one.area_mm2)
    return Measured(one.area_mm2, u)
