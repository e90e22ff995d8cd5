"""Random catalogues of sheets, measured with realistic errors, with one true mate each."""

from dataclasses import dataclass, replace

import numpy as np

from survey.imaging.mould import Traits

Random = np.random.Generator

SHARED = 6
MISSED = 1 / 30


@dataclass(frozen=True)
class WireMould:
    """Places of the chain wires, mm, and laid wires in a centimetre."""

    places_mm: tuple[float, ...]
    laid_per_cm: float


def wire_mould(random: Random) -> WireMould:
    """A mould of about 18 to 24 chain lines, as wide as a royal sheet.

    Intervals sewn by hand differ by half a millimetre to one (standard deviation; from memory).
    """
    mean = float(np.clip(random.normal(25, 2.5), 18, 32))
    intervals = random.normal(mean, random.uniform(0.4, 1.0), int(random.integers(18, 25)))
    return WireMould(tuple(np.cumsum(intervals)), float(random.uniform(6.5, 13.5)))


def twin(mould: WireMould, random: Random) -> WireMould:
    """The other of the pair: sewn to the same pattern, by a hand that errs by a tenth."""
    places = np.array(mould.places_mm) + random.normal(0, 0.15, len(mould.places_mm))
    return WireMould(tuple(places), mould.laid_per_cm * float(1 + random.normal(0, 0.004)))


def cut(mould: WireMould, random: Random, lines: tuple[int, int] = (5, 13)) -> range:
    """A run of the mould's lines."""
    count = int(random.integers(*lines))
    first = int(random.integers(0, len(mould.places_mm) - count + 1))
    return range(first, first + count)


def measured(mould: WireMould, random: Random, run: range | None = None) -> Traits:
    """A sheet cut from the mould: a run of its lines, shrunk, perhaps turned, with errors.

    One line in 30 is missed; the stated uncertainties are the true ones.
    """
    run = run or cut(mould, random)
    count, first = len(run), run.start
    places = np.array(mould.places_mm[first : first + count])
    shrunk = 1 + random.normal(0, 0.0025)
    u = float(random.uniform(0.04, 0.1))
    places = places * shrunk + random.normal(0, 0.03, count) + random.normal(0, u, count)
    kept = random.random(count) > MISSED
    if kept.sum() < 4:
        kept[:] = True
    places = places[kept]
    if random.random() < 0.5:
        places = -places[::-1]
    laid_u = float(random.uniform(0.01, 0.04))
    laid = mould.laid_per_cm / shrunk * (1 + random.normal(0, 0.003)) + random.normal(0, laid_u)
    intervals = np.diff(places)
    return Traits(
        tuple(float(mm) for mm in intervals),
        (float(np.hypot(u, u)),) * len(intervals),
        float(random.uniform(2, 25)),
        float(laid),
        laid_u,
    )


def catalogue(seed: int, sheets: int = 200) -> tuple[Traits, dict[str, Traits]]:
    """One sheet, and others by name; ``mate`` is of its mould, the rest of moulds of their own.

    The mate shares at least SHARED lines of the mould with the sheet, as many as anybody could
    know it by.
    """
    random = np.random.default_rng([seed, 40])
    mould = wire_mould(random)
    others = {f"sheet {n}": measured(wire_mould(random), random) for n in range(sheets - 1)}
    run, other = cut(mould, random), cut(mould, random)
    while len(set(run) & set(other)) < SHARED:
        run, other = cut(mould, random), cut(mould, random)
    others["mate"] = measured(mould, random, other)
    return measured(mould, random, run), others


def without_laid(traits: Traits) -> Traits:
    return replace(traits, laid_per_cm=None)
