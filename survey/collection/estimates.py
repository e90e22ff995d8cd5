"""What a sample tells of the whole: shares, totals, and how far each may be out.

Arithmetic alone: no database. All intervals are two-sided, 95 % unless asked otherwise.

Shares. In one stratum the interval is Wilson's (E. B. Wilson, Probable inference, J. Am. Stat.
Assoc. 22, 1927, 209–212), with the number of objects seen, n, replaced by an effective number
n / (1 − f), where f is the part of the stratum that was seen: the correction for a finite store.
Where f is small it is the plain interval; where all was seen it closes to a point. For the whole
store the stratified share Σ N p / Σ N goes into the same formula with the effective number n / D,
where D is the design effect, the estimated variance over that of a plain sample of the same size.
This is the “modified Wilson” interval of survey practice (the SURVEYFREQ procedure of SAS/STAT
describes it; the effective number is that of E. L. Korn and B. I. Graubard, Survey Methodology
24, 1998, 193–201). As they do, no gain from dividing into strata is credited: the effective
number is at most what the weights alone would give (L. Kish, Survey Sampling, 1965), which also
holds where a variance cannot be estimated because no object, or every one, has what is counted.
An interval never leaves out what was seen: 12 objects that have it are 12 of the store. Like all
of Wilson's, it holds 95 % on the average of all shares; of one share of one small stratum it may
hold in 9 cases of 10 (reckoned exactly in the tests).

Totals. Σ N ȳ, with variance Σ N² (1 − f) s² / n and Student's t; its degrees of freedom are
Satterthwaite's (W. G. Cochran, Sampling Techniques, 3rd edition, 1977, sections 5.3 and 5.4).
A total is at least what was recorded in the sample.

Where just one object of a stratum was seen, the spread of the others taken together stands for
its own (common practice, no source).

When it is too little. Fewer than five objects seen: no estimate is given, only what was seen
(common practice, no source). A share whose interval is 30 points wide or more is called rough
(J. D. Parker and others, National Center for Health Statistics Data Presentation Standards for
Proportions, Vital and Health Statistics 2 (175), 2017, do not publish such a one). A total is
called rough where fewer than 28 + 25 G² were seen, G being the skewness of what was seen: hours
are lopsided, and Student's interval is then too short (R. A. Sugden, T. M. F. Smith and
R. P. Jones, Cochran's rule for simple random sampling, J. R. Stat. Soc. B 62, 2000, 787–793;
the figure 28 from memory).
"""

import enum
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import fmean, variance

from scipy.special import stdtrit

from survey.collection.design import quantile

FEWEST_SEEN = 5
ROUGH_WIDTH = 0.30
CONFIDENCE = 0.95


class Sureness(enum.Enum):
    """What may be made of an estimate.

    KNOWN      every object was seen
    ESTIMATED  it and its interval may be used
    ROUGH      it may be used, with the caution that its interval is wide or too short
    NO_SPREAD  a total of a sample that was all alike: nothing tells how far it may be out
    TOO_FEW    too few were seen to estimate anything
    NONE_SEEN  none was seen, or none stands there
    """

    KNOWN = "known"
    ESTIMATED = "estimated"
    ROUGH = "rough"
    NO_SPREAD = "no spread"
    TOO_FEW = "too few"
    NONE_SEEN = "none seen"


@dataclass(frozen=True)
class Counted:
    """One stratum: the objects it holds, those seen, and how many of these have a thing."""

    size: int
    seen: int
    having: int

    def __post_init__(self) -> None:
        if not 0 <= self.having <= self.seen <= self.size:
            raise ValueError("Of a stratum no more can be seen than it holds, nor have a thing.")


@dataclass(frozen=True)
class Measured:
    """One stratum: the objects it holds, and a number for each one seen, such as hours."""

    size: int
    values: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.values) > self.size:
            raise ValueError("Of a stratum no more can be seen than it holds.")


@dataclass(frozen=True)
class Estimate:
    """A share from 0 to 1, or a total. Without a value or an interval, ``sureness`` says why."""

    sureness: Sureness
    value: float | None = None
    low: float | None = None
    high: float | None = None

    @property
    def has_interval(self) -> bool:
        return self.low is not None and self.high is not None

    def times(self, factor: float) -> "Estimate":
        """The same of a whole: a share of so many objects as a number of them."""
        return self.through(lambda number: number * factor)

    def through(self, change: Callable[[float], float]) -> "Estimate":
        """The same on another scale; ``change`` never turns the order round."""
        value, low, high = (
            None if number is None else change(number)
            for number in (self.value, self.low, self.high)
        )
        return Estimate(self.sureness, value, low, high)


def wilson(share: float, seen: float, confidence: float = CONFIDENCE) -> tuple[float, float]:
    """Wilson's interval for a share among so many seen; ``seen`` may be fractional or endless."""
    if math.isinf(seen):
        return share, share
    z = quantile(confidence)
    middle = (share + z**2 / (2 * seen)) / (1 + z**2 / seen)
    half = z / (1 + z**2 / seen) * math.sqrt(share * (1 - share) / seen + z**2 / (4 * seen**2))
    # At the ends it is exact; elsewhere rounding might pass them by.
    low = 0.0 if share == 0 else max(0.0, middle - half)
    return low, 1.0 if share == 1 else min(1.0, middle + half)


def share_of(strata: Sequence[Counted], confidence: float = CONFIDENCE) -> Estimate:
    """The share of all objects of these strata that have the thing; one stratum is a case of it.

    Strata of which none was seen are left out: the estimate is of the others.
    """
    strata = [one for one in strata if one.seen]
    seen = sum(one.seen for one in strata)
    size = sum(one.size for one in strata)
    if not strata:
        return Estimate(Sureness.NONE_SEEN)
    share = sum(one.size * one.having / one.seen for one in strata) / size
    if seen == size:
        return Estimate(Sureness.KNOWN, share, share, share)
    if seen < FEWEST_SEEN:
        return Estimate(Sureness.TOO_FEW)
    low, high = wilson(share, _effective(strata, share), confidence)
    # What was seen is so, whatever the rest is like.
    low = max(low, sum(one.having for one in strata) / size)
    high = min(high, 1 - sum(one.seen - one.having for one in strata) / size)
    sureness = Sureness.ROUGH if high - low >= ROUGH_WIDTH else Sureness.ESTIMATED
    return Estimate(sureness, share, low, high)


def total_of(strata: Sequence[Measured], confidence: float = CONFIDENCE) -> Estimate:
    """The total over all objects of these strata, at the mean of those seen in each.

    The numbers are zero or more. Strata of which none was seen are left out.
    """
    strata = [one for one in strata if one.values]
    seen = sum(len(one.values) for one in strata)
    size = sum(one.size for one in strata)
    if not strata:
        return Estimate(Sureness.NONE_SEEN)
    total = sum(one.size * fmean(one.values) for one in strata)
    if seen == size:
        return Estimate(Sureness.KNOWN, total, total, total)
    if seen < FEWEST_SEEN:
        return Estimate(Sureness.TOO_FEW)
    spreads = _spreads([one.values for one in strata])
    if spreads is None:
        return Estimate(Sureness.TOO_FEW)
    parts = [
        (one.size * (one.size - len(one.values)) / len(one.values) * spread, free)
        for one, (spread, free) in zip(strata, spreads, strict=True)
        if one.size > len(one.values)
    ]
    variance_of_total = sum(part for part, _ in parts)
    if variance_of_total == 0:
        return Estimate(Sureness.NO_SPREAD, total)
    # Satterthwaite, by way of shares of the whole, so that nothing overflows.
    freedom = 1 / sum((part / variance_of_total) ** 2 / free for part, free in parts)
    half = float(stdtrit(freedom, 0.5 + confidence / 2)) * math.sqrt(variance_of_total)
    values = [value for one in strata for value in one.values]
    sureness = Sureness.ROUGH if seen < fewest_for(values) else Sureness.ESTIMATED
    return Estimate(sureness, total, max(total - half, math.fsum(values)), total + half)


def fewest_for(values: Sequence[float]) -> float:
    """How many must be seen of numbers as lopsided as these for Student's interval to hold."""
    # Loaded once a total is estimated: it takes a tenth of a second that no other answer needs.
    from scipy import stats

    skewness = float(stats.skew(values)) if len(set(values)) > 1 else 0.0
    return 28 + 25 * skewness**2


def boxes_for(objects: Estimate, objects_a_box: int) -> Estimate:
    """Boxes that so many objects fill; a box that is begun is a box."""
    return objects.through(lambda number: float(math.ceil(number / objects_a_box - 1e-9)))


def _effective(strata: Sequence[Counted], share: float) -> float:
    """As how many objects of a plain sample of an endless store the sample counts."""
    size = sum(one.size for one in strata)
    seen = sum(one.seen for one in strata)
    weighed = [
        (one, (one.size / size) ** 2 * (1 - one.seen / one.size) / one.seen) for one in strata
    ]
    by_weights = 1 / sum(weight for _, weight in weighed)
    spreads = _spreads([[1.0] * one.having + [0.0] * (one.seen - one.having) for one in strata])
    if spreads is None:
        return by_weights
    found = sum(weight * spread for (_, weight), (spread, _) in zip(weighed, spreads, strict=True))
    if found == 0:
        return by_weights
    effect = found / (share * (1 - share) / (seen - 1))
    return min(seen / effect, by_weights)


def _spreads(samples: Sequence[Sequence[float]]) -> list[tuple[float, int]] | None:
    """The variance of each stratum and its degrees of freedom; None if no stratum tells any."""
    several = [(variance(values), len(values) - 1) for values in samples if len(values) > 1]
    if not several:
        return None
    freedom = sum(free for _, free in several)
    together = sum(spread * free for spread, free in several) / freedom
    return [
        (variance(values), len(values) - 1) if len(values) > 1 else (together, freedom)
        for values in samples
    ]
