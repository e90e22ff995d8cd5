"""How large a sample must be, how it is shared out over strata, and which objects fall into it.

Arithmetic alone: no database. The size follows W. G. Cochran, Sampling Techniques (3rd edition,
1977), section 4.4: n0 = z² p (1 − p) / d², and for a store of N objects
n = n0 / (1 + (n0 − 1) / N).

Objects are drawn along the shelves at even steps from a random start, in each stratum by itself,
so that every object has the same chance and the sample is spread over the whole walk. What such a
sample tells is reckoned as if it had been drawn at random within the strata. That is common
practice where the order of the shelves has nothing to do with condition (Cochran, section 8.5,
“Population in random order”); where neighbours are alike, as on shelves they often are, the even
steps do better than the figures say (section 8.9, from memory). Only a pattern that comes round in
step with the draw, such as one kind of sheet at the end of each shelf, would mislead.
"""

import math
import random
from collections.abc import Sequence
from statistics import NormalDist

from survey.apportion import apportioned

# With fewer than two, a stratum says nothing of its own spread.
FEWEST_A_STRATUM = 2
# Kept short enough to be read out and typed.
SEEDS = 1_000_000
# What reckoning with floats may add before rounding up.
SLACK = 1e-9


class CannotSample(ValueError):
    """No such sample can be drawn; the text is a sentence that says what to do."""


def quantile(confidence: float) -> float:
    """The z of a two-sided interval: 1.96 for a confidence of 0.95."""
    return NormalDist().inv_cdf(0.5 + confidence / 2)


def size_for(population: int, margin: float, share: float = 0.5, confidence: float = 0.95) -> int:
    """How many objects tell a share to within ± the margin.

    margin      half the width of the interval, as a share: 0.05 is five points
    share       what is expected; 0.5 asks for the most, so is safe for any

    Raises CannotSample for an empty store or a margin or share that means nothing.
    """
    if population < 1:
        raise CannotSample("No objects stand there: choose another part of the store.")
    if not 0 < margin < 0.5:
        raise CannotSample("Give a margin above 0 and below 50 points.")
    if not 0 < share < 1:
        raise CannotSample("Give an expected share above 0 % and below 100 %; 50 % is safe.")
    if not 0.5 <= confidence < 1:
        raise CannotSample("Give a confidence from 50 % up to, but not including, 100 %.")
    endless = quantile(confidence) ** 2 * share * (1 - share) / margin**2
    return min(population, max(1, math.ceil(endless / (1 + (endless - 1) / population) - SLACK)))


def margin_of(population: int, sample: int, share: float = 0.5, confidence: float = 0.95) -> float:
    """The margin that a sample gives: half the width of a plain interval, as a share."""
    if sample >= population:
        return 0.0
    spread = share * (1 - share) / sample * (population - sample) / (population - 1)
    return quantile(confidence) * math.sqrt(spread)


def fewest(sizes: Sequence[int]) -> int:
    """The smallest sample that takes at least two of each stratum, or its only one."""
    return sum(min(size, FEWEST_A_STRATUM) for size in sizes)


def allocate(sizes: Sequence[int], wanted: int) -> list[int]:
    """How many to draw of each stratum: in proportion to what it holds, and at least two.

    A stratum of one object gives that one. Raises CannotSample when the store does not hold so
    many, or when there are too few for all strata.
    """
    total, least = sum(sizes), fewest(sizes)
    if not sizes or min(sizes) < 1:
        raise CannotSample("No objects stand there: choose another part of the store.")
    if wanted > total:
        raise CannotSample(
            f"A sample of {wanted:,} is larger than the store, which holds {total:,} objects. "
            f"Ask for {total:,} or fewer; {total:,} is every one of them."
        )
    if wanted < least:
        raise CannotSample(
            f"A sample of {wanted:,} is too small for {len(sizes)} strata: each needs two objects, "
            f"or its only one. Ask for {least:,} or more, or divide the store less finely."
        )
    given = [0] * len(sizes)
    open_ones, left = list(range(len(sizes))), wanted
    while True:
        whole = sum(sizes[i] for i in open_ones)
        # Those whose share would be too small get the least, and the others share what is left.
        small = [i for i in open_ones if sizes[i] * left < min(sizes[i], FEWEST_A_STRATUM) * whole]
        if not small:
            break
        for i in small:
            given[i] = min(sizes[i], FEWEST_A_STRATUM)
            left -= given[i]
        open_ones = [i for i in open_ones if i not in small]
    if open_ones:
        shared = apportioned(left, [sizes[i] for i in open_ones])
        for i, number in zip(open_ones, shared, strict=True):
            given[i] = number
    return given


def along_the_shelves(size: int, wanted: int, start: int) -> list[int]:
    """Places, from 0, of so many objects among ``size``, at even steps from a start.

    The step is the fraction size / wanted, reckoned in whole numbers: of the starts 0 … size − 1
    each object lies in exactly ``wanted``, so that all have the same chance. None comes twice.
    """
    return [(start + step * size) // wanted for step in range(wanted)]


def draw(sizes: Sequence[int], wanted: Sequence[int], seed: int) -> list[list[int]]:
    """The places drawn in each stratum, each with a start of its own.

    The same sizes, numbers and seed draw the same sample again.
    """
    chance = random.Random(seed)
    return [
        along_the_shelves(size, number, chance.randrange(size))
        for size, number in zip(sizes, wanted, strict=True)
    ]


def new_seed() -> int:
    return random.SystemRandom().randrange(SEEDS)
