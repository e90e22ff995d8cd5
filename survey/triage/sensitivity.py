"""How firmly a row stands: the places it can take under other weights near the department's.

Each weight may be up to WITHIN lower or higher, all at once; they are then made shares of 100
points as the rule does. For two rows the question is exact. Row A can stand before row B if for
some weights w in that box

    1000 · Σ wᵢ (aᵢ − bᵢ) / Σ wᵢ + slack ≥ need

where aᵢ and bᵢ are the exact measures of the five parts. Multiplied by Σ wᵢ > 0 this is linear in
w, so the most it can be is found weight by weight: the highest where the factor of the weight is
above zero, the lowest where it is below. ``need`` is 0 tenths of a point where A stands first of
equal scores, and 1 where B does. ``slack`` is the most that rounding can add: the rule rounds the
maxima and the points of each part to tenths.

Which others can stand before a row, and which always do, bounds its places. All of these need not
be possible at the same weights: the span is never too narrow, and may be too wide. So “firm” is
certain, and “depends on the weights” may be said of a row that would hold.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from survey.triage.rule import FULL_TENTHS, PARTS, Score, Weights, check_weights

WITHIN = 0.2
FRONT = 10
# Far above what floating point errs by here, far below a tenth of a point.
GUARD = 1e-6

# Every weight that is tried is at most so much of the department's, and at least so much.
WITHIN_WORDS = f"any weights within ±{round(100 * WITHIN)} %"


@dataclass(frozen=True)
class Span:
    """The places a row can take, counted from 1, of so many; never too narrow."""

    best: int
    worst: int
    of: int

    @property
    def is_firm(self) -> bool:
        """Whether it keeps its place, or its side of the first FRONT."""
        return self.best == self.worst or (
            self.of > FRONT and (self.worst <= FRONT or self.best > FRONT)
        )

    @property
    def short(self) -> str:
        """What stands beside a row: ``Firm: among the first 10``, ``Place 4 to 14``."""
        if self.best == self.worst:
            return f"Firm: place {self.best}"
        if not self.is_firm:
            return f"Place {self.best} to {self.worst}"
        return f"Firm: {'' if self.worst <= FRONT else 'not '}among the first {FRONT}"

    @property
    def sentence(self) -> str:
        if self.best == self.worst:
            return f"Firm: place {self.best} under {WITHIN_WORDS}."
        places = f"between place {self.best} and {self.worst}"
        if self.of > FRONT and self.worst <= FRONT:
            return f"Firm: would still be among the first {FRONT} under {WITHIN_WORDS} ({places})."
        if self.of > FRONT and self.best > FRONT:
            return f"Firm: would not be among the first {FRONT} under {WITHIN_WORDS} ({places})."
        return f"Depends on the weights: {places} of {self.of} under {WITHIN_WORDS}."


def spans(scores: Sequence[Score], ties: Sequence[Any], weights: Weights) -> list[Span]:
    """The span of each row of one queue.

    ties  for each row what decides between equal scores, smallest first; see rule.place_key

    Raises ValueError, with a sentence, for weights that say nothing.
    """
    check_weights(weights)
    number = len(scores)
    measures = np.array(
        [[float(line.measure) for line in score.lines] for score in scores], dtype=float
    ).reshape(number, len(PARTS))
    order = sorted(range(number), key=lambda row: ties[row])
    rank = np.empty(number, dtype=int)
    rank[order] = np.arange(number)
    before = np.zeros((number, number), dtype=bool)
    for row in range(number):
        # Whether `row` can stand before each other one.
        need = np.where(rank[row] < rank, 0, 1)
        before[row] = can_lead(measures[row] - measures, need, weights)
    np.fill_diagonal(before, False)
    overtaken_by = before.sum(axis=0)
    can_overtake = before.sum(axis=1)
    return [
        Span(int(number - can_overtake[row]), int(1 + overtaken_by[row]), number)
        for row in range(number)
    ]


def can_lead(
    differences: np.ndarray[Any, Any], need: np.ndarray[Any, Any], weights: Weights
) -> np.ndarray[Any, Any]:
    """Whether some weights of the box let one row stand before another.

    differences  (rows, parts): measures of the one less those of the others
    need         (rows,): by how many tenths of a point it must be ahead
    """
    own = np.array([getattr(weights, part) for part in PARTS], dtype=float)
    differs = np.abs(differences) > 0
    # A maximum differs by less than 1 tenth from the exact share, and these errors sum to zero,
    # so only how unlike the differences are counts. Points are rounded by at most half a tenth
    # on either side; parts that are equal are rounded alike.
    unlike = np.abs(differences - np.median(differences, axis=1, keepdims=True)).sum(axis=1)
    slack = np.where(differs.any(axis=1), unlike + differs.sum(axis=1) + GUARD, 0.0)
    factors = FULL_TENTHS * differences + (slack - need)[:, np.newaxis]
    most = np.where(factors > 0, 1 + WITHIN, 1 - WITHIN) * factors @ own
    return most >= 0
