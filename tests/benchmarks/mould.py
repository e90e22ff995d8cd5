"""How surely a sheet's true mate comes first in a catalogue of 200 sheets, and how quickly.

Run by hand:  FIELDLEAF_CATALOGUES=40 .venv/bin/python -m tests.benchmarks.mould

Bound: first in 95 of 100 catalogues, by chain and laid lines together. By chain lines alone it
is told beside that, and so is the share of strangers that a ratio of 1,000 lets in.
"""

import math
import os
import time

from survey.imaging.mould import rank
from tests.imaging.catalogues import catalogue, without_laid

BOUND = 0.95
FIRST_SEED = int(os.environ.get("FIELDLEAF_SEED", "5000"))


def main() -> None:
    count = int(os.environ.get("FIELDLEAF_CATALOGUES", "40"))
    first, first_by_chains, taken_in, strangers = 0, 0, 0, 0
    mates: list[float] = []
    began = time.perf_counter()
    for seed in range(FIRST_SEED, FIRST_SEED + count):
        one, others = catalogue(seed)
        found = rank(one, others)
        first += found[0][0] == "mate"
        mates += [likeness.log_ratio for key, likeness in found if key == "mate"]
        taken_in += sum(v.log_ratio > math.log(1000) for key, v in found if key != "mate")
        strangers += len(found) - 1
    took = (time.perf_counter() - began) / count
    for seed in range(FIRST_SEED, FIRST_SEED + count):
        one, others = catalogue(seed)
        bare = {key: without_laid(other) for key, other in others.items()}
        first_by_chains += rank(without_laid(one), bare)[0][0] == "mate"
    print(f"True mate first in {first} of {count} catalogues of 200 sheets (bound {BOUND:.0%})")
    print(f"By chain lines alone: {first_by_chains} of {count}")
    print(f"Strangers with a ratio above 1,000: {taken_in} of {strangers}")
    print(f"Mates with a ratio above 1,000: {sum(m > math.log(1000) for m in mates)} of {count}")
    print(f"{took:.2f} s for a catalogue")


if __name__ == "__main__":
    main()
