"""How often new damage is found between two photographs, and how often nothing is made of nothing.

Run by hand:  FIELDLEAF_PAIRS=100 .venv/bin/python -m tests.benchmarks.changes [SEED]

As many pairs of random rendered sheets with known new damage (a tear, a crease, a stain, a skinned
place, a lost flake, in turn), and as many where only light, exposure, white balance, the camera's
place and the lie of the paper changed; at 4 pixels a millimetre, with noise, blur and JPEG.
Creases are photographed in raking light, of the others one in seven. Bounds: the new damage is
among the first three places told in 90 %, and nothing is told of 90 % of the unchanged ones.
"""

import os
import sys
import time
from collections import Counter

import numpy as np

from survey.imaging.align import NotAligned
from survey.imaging.changes import find_changes
from tests.imaging.pairs import DAMAGES, Pair, pair

PAIRS = 20
SEED = 5000
BOUND = 0.9
FIRST = 3


def places(seen: Pair) -> list[bool] | None:
    """For each place told whether it is at the new damage; None when they were not aligned."""
    try:
        found = find_changes(seen.earlier, seen.later)
    except NotAligned:
        return None
    return [seen.is_at(np.array(one.points)) for one in found.regions]


def main(first: int = SEED) -> None:
    count = int(os.environ.get("FIELDLEAF_PAIRS", PAIRS))
    found: Counter[str] = Counter()
    asked: Counter[str] = Counter()
    quiet, refused = 0, 0
    took: list[float] = []
    for number in range(count):
        for damage in (DAMAGES[number % len(DAMAGES)], ""):
            seen = pair(first + number, damage)
            began = time.perf_counter()
            told = places(seen)
            took.append(time.perf_counter() - began)
            name = f"seed {seen.seed}, {damage or 'unchanged'}, {seen.light} light"
            if told is None:
                refused += 1
                print(f"  not aligned: {name}")
            if damage:
                asked[damage] += 1
                is_found = any((told or [])[:FIRST])
                found[damage] += is_found
                if not is_found and told is not None:
                    print(f"  missed: {name}")
            else:
                # One that was not aligned tells of no change, but serves nobody either.
                quiet += told == []
                if told:
                    print(f"  made of nothing: {name}, {len(told)}")
        print(f"\r{number + 1} of {count}", end="", file=sys.stderr, flush=True)
    print(file=sys.stderr)
    for damage in DAMAGES:
        print(f"{damage:8} {found[damage]} of {asked[damage]} among the first {FIRST}")
    told_of("New damage found", found.total() / max(1, count))
    told_of("Nothing told of unchanged sheets", quiet / max(1, count))
    print(f"{refused} of {2 * count} not aligned; median {np.median(took):.1f} s a pair")


def told_of(what: str, share: float) -> None:
    print(f"{what}: {100 * share:.0f} %, bound {100 * BOUND:.0f} %: "
          f"{'kept' if share >= BOUND else 'BROKEN'}")  # fmt: skip


if __name__ == "__main__":
    main(*(int(argument) for argument in sys.argv[1:]))
