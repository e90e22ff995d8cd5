"""Were two sheets made on the same mould? Compared by their chain lines, laid lines, watermark.

Chain wires were sewn down by hand, so their intervals differ a little and in an order of their
own; that order, with the density of the laid wires and the watermark's place among the chain
lines, marks a mould (Johnson, Sethares, Ellis and others, Laid Paper Mold-Mate Identification
via Chain Line Pattern Matching of Beta-Radiographs of Rembrandt's Etchings, 2013; Ellis, Johnson
and Sethares, Moldmates Matter, Getty Research Journal 17, 2023). Two cut sheets may show other
parts of the mould, and be turned over or by half a turn: every way in which their chain lines
can overlap is weighed.

The result is a likelihood ratio: how much better the agreement is explained by one mould than
by two moulds picked at random. It advises and proves nothing. In particular moulds were used in
pairs, and the two of a pair ("twins") were made as alike as the maker could: their laid lines
and watermarks agree, and their chain lines nearly so. The ratio is against a random other
mould, not against a twin: only small steady differences, above all of the watermark, tell twins
apart, and by eye.
"""

import itertools
import math
from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from survey.imaging.intervals import Measured
from survey.imaging.paper import Paper

Array = NDArray[np.float64]
Key = TypeVar("Key", bound=Hashable)

AS_IS, OVER, HALF, BOTH = "as is", "turned over", "half turn", "turned over and half turn"

# Two sheets of one mould shrank and were pressed differently: standard deviation of the
# difference as a share of a length, for lengths along the chain lines' normal and for laid
# lines, and how far a wire's mark moves on its own. From memory.
SHRINKAGE, LAID_SHARE, MARK_MM = 0.003, 0.005, 0.05
# Chance that a chain line within the overlap is seen on one sheet only.
MISSED = 0.05
# A matched pair of lines lies at most so far apart, in standard uncertainties.
REACH = 4.0
# Tails heavier than normal, for an uncertainty may be stated too small (Student's t).
FREEDOM = 6.0
# Places of watermarks on two sheets, mm beside their stated uncertainty. From memory.
MARK_PLACE_MM = 0.7
# How much watermarks of different moulds differ in width and in height, mm; from memory.
SIZES_MM = 12.0


@dataclass(frozen=True)
class WatermarkBox:
    """Where a watermark lies among the chain lines of its sheet, in mm.

    start_mm, end_mm  across, from the first chain line of the traits
    along_mm          its middle, along the chain lines from the sheet's origin
    height_mm         its extent along the chain lines; u_mm the uncertainty of each figure
    """

    start_mm: float
    end_mm: float
    along_mm: float
    height_mm: float
    u_mm: float = 0.5


@dataclass(frozen=True)
class Traits:
    """What of a sheet belongs to its mould.

    chain_intervals_mm  from one chain line to the next, in order of offset
    interval_u_mm       standard uncertainty of each
    first_mm            offset of the first chain line, along the normal from the sheet's origin
    laid_per_cm         None when not counted; laid_u its standard uncertainty
    mould_side_seen     whether the side measured lay on the mould; None when nobody knows
    """

    chain_intervals_mm: tuple[float, ...]
    interval_u_mm: tuple[float, ...]
    first_mm: float = 0.0
    laid_per_cm: float | None = None
    laid_u: float = 0.0
    watermark: WatermarkBox | None = None
    mould_side_seen: bool | None = None

    def __post_init__(self) -> None:
        if len(self.chain_intervals_mm) != len(self.interval_u_mm):
            raise ValueError("Give an uncertainty for every interval between chain lines.")
        if any(not mm > 0 for mm in (*self.chain_intervals_mm, *self.interval_u_mm)):
            raise ValueError("Intervals and their uncertainties must be greater than 0 mm.")

    def places_mm(self) -> Array:
        """Of the chain lines, from the first."""
        return np.concatenate([[0.0], np.cumsum(self.chain_intervals_mm)])


@dataclass(frozen=True)
class Background:
    """How chain intervals and laid densities differ from mould to mould.

    mean_mm     of all moulds' mean intervals: "about 25 mm apart" (Roberts and Etherington,
                Bookbinding and the Conservation of Books, "chain lines"); the rest from memory
    between_mm  standard deviation of the moulds' means; within_mm of intervals on one mould
    """

    mean_mm: float = 25.0
    between_mm: float = 3.0
    within_mm: float = 0.9
    laid_per_cm: float = 9.5
    laid_sd: float = 2.2


@dataclass(frozen=True)
class Overlap:
    """How to lay sheet b over sheet a: a point of b at distance v along b's chain normal falls
    at ``sign * v + offset_mm`` along a's; ``along_sign`` likewise along the chain lines, and
    ``along_mm`` when the watermarks tell it."""

    sign: int
    offset_mm: float
    along_sign: int
    along_mm: float | None
    flip: bool
    half_turn: bool


@dataclass(frozen=True)
class Likeness:
    """log_ratio  natural logarithm of the likelihood ratio; 0 says nothing either way
    turned      how b must be turned to fall on a
    offset      see ``Overlap``; None when no chain lines overlap
    lines       chain lines that fall together; worst_mm the largest difference of an interval
    words       a sentence for the person
    """

    log_ratio: float
    turned: str
    offset: Overlap | None
    lines: int
    worst_mm: float | None
    words: str


@dataclass(frozen=True)
class _Fit:
    """One way of laying b's lines over a's: pairs of (line of a, line of b)."""

    sign: int
    log_ratio: float
    pairs: list[tuple[int, int]] = field(default_factory=list)
    worst_mm: float = 0.0


def traits_of(
    paper: Paper, watermark: WatermarkBox | None = None, mould_side_seen: bool | None = None
) -> Traits:
    """The traits that were read, or put right by a person."""
    laid = paper.laid_per_cm
    return Traits(
        tuple(one.mm for one in paper.intervals),
        tuple(one.u_mm for one in paper.intervals),
        paper.chains[0].offset_mm if paper.chains else 0.0,
        None if laid is None else laid.value,
        0.0 if laid is None else laid.u,
        watermark,
        mould_side_seen,
    )


def compare(a: Traits, b: Traits, background: Background | None = None) -> Likeness:
    """How well one mould explains both sheets, against two moulds picked at random."""
    background = background or Background()
    laid = _laid_ratio(a, b, background)
    fits = [fit for sign in (1, -1) for fit in _fits(a, b, sign, background)]
    if not fits:
        return Likeness(laid, AS_IS, None, 0, None, _words_without_lines(a, b, laid))
    # No way of overlapping is likelier than another beforehand, nor that they overlap at all.
    ratios = np.array([fit.log_ratio for fit in fits] + [0.0])
    chains = float(np.logaddexp.reduce(ratios) - math.log(len(ratios)))
    best = max(fits, key=lambda fit: fit.log_ratio)
    turned = _turned(best.sign, a, b)
    overlap = _overlap(a, b, best, turned)
    return Likeness(
        chains + laid,
        turned,
        overlap,
        len(best.pairs),
        best.worst_mm,
        _words(a, b, best, turned),
    )


def rank(
    one: Traits, others: Mapping[Key, Traits], background: Background | None = None
) -> list[tuple[Key, Likeness]]:
    """All others by how well one mould explains each of them and ``one``, best first.

    background  None takes it from ``others``, if they are enough to tell
    """
    known = background or background_of(others.values())
    found = [(key, compare(one, other, known)) for key, other in others.items()]
    return sorted(found, key=lambda pair: -pair[1].log_ratio)


def background_of(sheets: Iterable[Traits]) -> Background:
    """From a catalogue: of fewer than 20 sheets with chain lines, what is usual anywhere."""
    usual = Background()
    many = [np.array(one.chain_intervals_mm) for one in sheets if len(one.chain_intervals_mm) > 1]
    if len(many) < 20:
        return usual
    # A gap with a line missing would count as a wide interval: the median keeps out of that.
    middles = np.array([np.median(row) for row in many])
    away = np.concatenate([row - np.median(row) for row in many])
    within = 1.4826 * float(np.median(np.abs(away[away != 0]))) if (away != 0).any() else 0.0
    return replace(
        usual,
        mean_mm=float(np.median(middles)),
        between_mm=max(0.5, 1.4826 * float(np.median(np.abs(middles - np.median(middles))))),
        within_mm=max(0.3, within),
    )


def _laid_ratio(a: Traits, b: Traits, background: Background) -> float:
    if a.laid_per_cm is None or b.laid_per_cm is None:
        return 0.0
    middle = (a.laid_per_cm + b.laid_per_cm) / 2
    together = math.sqrt(a.laid_u**2 + b.laid_u**2 + 2 * (LAID_SHARE * middle) ** 2)
    same = _log_student((b.laid_per_cm - a.laid_per_cm) / together) - math.log(together)
    apart = math.hypot(background.laid_sd, b.laid_u)
    other = _log_normal((b.laid_per_cm - background.laid_per_cm) / apart) - math.log(apart)
    return same - other


def _log_normal(z: float) -> float:
    return -0.5 * z * z - 0.5 * math.log(2 * math.pi)


def _log_student(z: float) -> float:
    """Student's t with FREEDOM degrees of freedom."""
    n = FREEDOM
    top = math.lgamma((n + 1) / 2) - math.lgamma(n / 2) - 0.5 * math.log(n * math.pi)
    return top - (n + 1) / 2 * math.log1p(z * z / n)


def _fits(a: Traits, b: Traits, sign: int, background: Background) -> list[_Fit]:
    """Every way of laying b over a, in one order, in which two chain lines or more meet."""
    if not a.chain_intervals_mm or not b.chain_intervals_mm:
        return []
    places_a, places_b = a.places_mm(), sign * b.places_mm()
    found = []
    for pairs in _ways(places_a, places_b, a, b):
        # What misses more lines than it meets can be no match: it is not worth weighing.
        if _missed(pairs, len(places_a), len(places_b)) <= len(pairs):
            found.append(_weighed(a, b, sign, pairs, places_a, places_b, background))
    return found


def _ways(places_a: Array, places_b: Array, a: Traits, b: Traits) -> list[list[tuple[int, int]]]:
    """Each set of two pairs or more that meet when some line of b is laid on some line of a."""
    usual = float(np.mean((*a.interval_u_mm, *b.interval_u_mm)))
    span = float(places_a[-1] - places_a[0])
    reach = REACH * math.hypot(2 * usual + MARK_MM, SHRINKAGE * span) + 0.3
    shifts = (places_a[:, None] - places_b[None, :]).reshape(-1)
    apart = np.abs(places_b[None, None, :] + shifts[:, None, None] - places_a[None, :, None])
    nearest = np.where(apart.min(axis=2) < reach, apart.argmin(axis=2), -1)
    several = nearest[(nearest >= 0).sum(axis=1) >= 2]
    ways = []
    for row in np.unique(several, axis=0):
        pairs = [(i, int(j)) for i, j in enumerate(row) if j >= 0]
        if len({j for _, j in pairs}) == len(pairs):
            ways.append(pairs)
    return ways


def _weighed(
    a: Traits,
    b: Traits,
    sign: int,
    pairs: list[tuple[int, int]],
    places_a: Array,
    places_b: Array,
    background: Background,
) -> _Fit:
    """The logarithm of the ratio for one way of overlapping."""
    at_a = places_a[[i for i, _ in pairs]]
    at_b = places_b[[j for _, j in pairs]]
    gaps_a, gaps_b = np.diff(at_a), np.diff(at_b)
    steps = _steps(gaps_b, [j for _, j in pairs], b, background)
    difference = gaps_b - gaps_a
    # A line's error makes one gap wider and the next narrower: told by the lines, not the gaps.
    ends = np.diff(np.eye(len(pairs)), axis=0)
    error_b = ends @ np.diag(_line_u(b, [j for _, j in pairs]) ** 2 + MARK_MM**2) @ ends.T
    error_a = ends @ np.diag(_line_u(a, [i for i, _ in pairs]) ** 2 + MARK_MM**2) @ ends.T
    shrunk = SHRINKAGE**2 * np.outer(gaps_a, gaps_a)
    same = _log_joint(difference, error_a + error_b + shrunk, heavy=True)
    spread = (
        background.between_mm**2 * np.outer(steps, steps)
        + np.diag(background.within_mm**2 * steps)
        + error_b
    )
    other = _log_joint(gaps_b - background.mean_mm * steps, spread, heavy=False)
    ratio = same - other + _missed(pairs, len(places_a), len(places_b)) * math.log(MISSED)
    ratio += _watermark_ratio(a, b, sign, float(np.mean(at_a - at_b)), background)
    return _Fit(sign, ratio, pairs, float(np.abs(difference).max()))


def _steps(gaps: Array, lines: list[int], traits: Traits, background: Background) -> Array:
    """How many of the sheet's intervals each gap between these lines holds, lines missed too."""
    intervals = np.array(traits.chain_intervals_mm)
    own = float(np.median(intervals / np.maximum(1, np.round(intervals / background.mean_mm))))
    return np.maximum(np.abs(np.diff(lines)), np.round(gaps / own)).astype(np.float64)


def _line_u(traits: Traits, lines: list[int]) -> Array:
    """Uncertainty of each line's place, from the intervals on both sides of it."""
    squares = np.array(traits.interval_u_mm) ** 2 / 2
    both = np.concatenate([squares[:1], (squares[1:] + squares[:-1]) / 2, squares[-1:]])
    return np.sqrt(both[lines])


def _log_joint(away: Array, covariance: Array, heavy: bool) -> float:
    """Log density of a multivariate normal or, heavy-tailed, Student's t."""
    count = len(away)
    if count == 0:
        return 0.0
    _, determinant = np.linalg.slogdet(covariance)
    square = float(away @ np.linalg.solve(covariance, away))
    if not heavy:
        return -0.5 * (square + determinant + count * math.log(2 * math.pi))
    n = FREEDOM
    top = math.lgamma((n + count) / 2) - math.lgamma(n / 2)
    top -= 0.5 * (count * math.log(n * math.pi) + determinant)
    return top - (n + count) / 2 * math.log1p(square / n)


def _missed(pairs: list[tuple[int, int]], count_a: int, count_b: int) -> int:
    """Lines within the overlap that meet no other, and lines beyond the last pair that should."""
    inside = 0
    for one, other in itertools.pairwise(pairs):
        inside += abs(other[0] - one[0]) - 1 + abs(other[1] - one[1]) - 1
    down = pairs[-1][1] >= pairs[0][1]
    before_b, after_b = (
        (pairs[0][1], count_b - 1 - pairs[-1][1])
        if down
        else (count_b - 1 - pairs[0][1], pairs[-1][1])
    )
    before = min(pairs[0][0], before_b)
    after = min(count_a - 1 - pairs[-1][0], after_b)
    return inside + 2 * (before + after)


def _watermark_ratio(
    a: Traits, b: Traits, sign: int, shift: float, background: Background
) -> float:
    """Places and sizes of both watermarks, when both sheets have one."""
    if a.watermark is None or b.watermark is None:
        return 0.0
    ends = sorted(sign * edge + shift for edge in (b.watermark.start_mm, b.watermark.end_mm))
    u = math.sqrt(a.watermark.u_mm**2 + b.watermark.u_mm**2 + MARK_PLACE_MM**2)
    off = (
        ends[0] - a.watermark.start_mm,
        ends[1] - a.watermark.end_mm,
        b.watermark.height_mm - a.watermark.height_mm,
    )
    same = sum(_log_student(d / u) - math.log(u) for d in off)
    # Of another mould: its place anywhere within an interval, its size by some 12 mm otherwise,
    # with tails as heavy as above: else figures that differ much would speak for one mould.
    sizes = (off[1] - off[0], off[2])
    other = -math.log(background.mean_mm)
    other += sum(_log_student(d / SIZES_MM) - math.log(SIZES_MM) for d in sizes)
    return same - other


def _turned(sign: int, a: Traits, b: Traits) -> str:
    """By chain lines alone, turned over and half a turn look alike: the mould's side tells."""
    known = a.mould_side_seen is not None and b.mould_side_seen is not None
    same_side = not known or a.mould_side_seen == b.mould_side_seen
    if sign > 0:
        return AS_IS if same_side else BOTH
    return HALF if known and same_side else OVER


def _overlap(a: Traits, b: Traits, fit: _Fit, turned: str) -> Overlap:
    places_a, places_b = a.places_mm() + a.first_mm, fit.sign * (b.places_mm() + b.first_mm)
    shift = float(np.mean([places_a[i] - places_b[j] for i, j in fit.pairs]))
    along_sign = -1 if turned in (HALF, BOTH) else 1
    along = None
    if a.watermark is not None and b.watermark is not None:
        along = a.watermark.along_mm - along_sign * b.watermark.along_mm
    flip, half = turned in (OVER, BOTH), turned in (HALF, BOTH)
    return Overlap(fit.sign, shift, along_sign, along, flip, half)


def _words(a: Traits, b: Traits, fit: _Fit, turned: str) -> str:
    known = a.mould_side_seen is not None and b.mould_side_seen is not None
    how = {
        AS_IS: "as they lie",
        OVER: "turned over" if known else "turned over or by half a turn",
        HALF: "turned by half a turn",
        BOTH: "turned over head to foot",
    }[turned]
    told = f"Intervals agree within {fit.worst_mm:.1f} mm over {len(fit.pairs)} chain lines, {how}"
    return f"{told}{_laid_words(a, b)}."


def _words_without_lines(a: Traits, b: Traits, laid: float) -> str:
    if a.laid_per_cm is None or b.laid_per_cm is None:
        return "Too few chain lines to compare, and no laid lines were counted on both."
    agrees = "agree" if laid > 0 else "differ"
    return (
        f"No chain lines fall together; laid lines {agrees}: "
        f"{a.laid_per_cm:.2f} and {b.laid_per_cm:.2f} in a centimetre."
    )


def _laid_words(a: Traits, b: Traits) -> str:
    if a.laid_per_cm is None or b.laid_per_cm is None:
        return ""
    one, other = (Measured(t.laid_per_cm or 0.0, t.laid_u) for t in (a, b))
    return f"; laid lines {one.value:.2f} and {other.value:.2f} in a centimetre"
