"""How right the measured growth of a tear, a crease, a fold or a stain is, and its uncertainty.

Run by hand:  FIELDLEAF_PAIRS=75 .venv/bin/python -m tests.benchmarks.growth [SEED]

So many pairs of random rendered sheets (tests/imaging/pairs.py: grown) on which the same damage is
longer or larger by a known amount, at 4 pixels a millimetre, with noise, blur, JPEG, another light
and another lie of the paper. As a person had outlined the damage on the earlier one, off by 0.4 mm
each way, its growth is measured. Told: bias, spread and how often the truth lies within one and
two standard uncertainties of what was measured; 68 % and 95 % are wanted, and 60 % and 88 % are the
bounds. What is not measured is told with a sentence, and counted.
"""

import os
import sys
from collections import Counter, defaultdict

import numpy as np

from survey.demo.sheet.noise import stream
from survey.imaging.align import NotAligned
from survey.imaging.changes import find_changes
from survey.imaging.growth import NotMeasured, growth_of, together
from tests.imaging.pairs import GROWING, Grown, grown

PAIRS = 20
SEED = 9000
# Off in x and in y, mm, as outlines drawn by hand are.
OUTLINED_OFF_MM = 0.4
WITHIN_ONE, WITHIN_TWO = 0.60, 0.88


def measured(seen: Grown) -> tuple[float, float]:
    """How far the change is off, and its uncertainty. Raises NotMeasured or NotAligned."""
    found = find_changes(seen.earlier, seen.later)
    pictures = together(found.earlier, found.later, found.px_per_mm)
    off = stream(seen.seed, "outlined").normal(0, OUTLINED_OFF_MM, 2)
    kind = "area" if seen.is_area else "line"
    told = growth_of(pictures, seen.was + off, is_outline=seen.is_area, kind=kind)
    return told.change.value - (seen.now - seen.before), told.change.uncertainty


def main(first: int = SEED) -> None:
    count = int(os.environ.get("FIELDLEAF_PAIRS", PAIRS))
    results: dict[str, list[tuple[float, float]]] = defaultdict(list)
    asked: Counter[str] = Counter()
    for number in range(count):
        damage = list(GROWING)[number % len(GROWING)]
        seen = grown(first + number, damage)
        asked[damage] += 1
        try:
            off, uncertainty = measured(seen)
        except (NotMeasured, NotAligned) as error:
            print(f"  not measured: seed {seen.seed}, {damage}: {str(error).split('.')[0]}")
            continue
        results[damage].append((off, uncertainty))
        if abs(off) > 2 * uncertainty:
            print(f"  beyond 2 u: seed {seen.seed}, {damage}, {off:+.1f} ± {uncertainty:.1f}")
        print(f"\r{number + 1} of {count}", end="", file=sys.stderr, flush=True)
    print(file=sys.stderr)
    for damage, found in results.items():
        off, uncertainty = np.array(found).T
        unit = "mm²" if damage in ("stain", "glue") else "mm"
        print(
            f"{damage:7} {len(found):3} of {asked[damage]:3} measured: bias {off.mean():+.2f}, "
            f"spread {off.std():.2f}, median u {np.median(uncertainty):.2f} {unit}; "
            f"within 1 u {share(found, 1):.0%}, 2 u {share(found, 2):.0%}"
        )
    every = [one for found in results.values() for one in found]
    told_of("Within 1 u", share(every, 1), WITHIN_ONE)
    told_of("Within 2 u", share(every, 2), WITHIN_TWO)


def share(found: list[tuple[float, float]], times: float) -> float:
    return float(np.mean([abs(off) < times * u for off, u in found])) if found else 0.0


def told_of(what: str, seen: float, bound: float) -> None:
    print(f"{what}: {seen:.0%}, bound {bound:.0%}: {'kept' if seen >= bound else 'BROKEN'}")


if __name__ == "__main__":
    main(*(int(argument) for argument in sys.argv[1:]))
