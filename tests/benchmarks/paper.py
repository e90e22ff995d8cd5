"""How quickly and how rightly the structure of a paper is read.

Run by hand:  .venv/bin/python -m tests.benchmarks.paper
              FIELDLEAF_SHEETS=200 .venv/bin/python -m tests.benchmarks.paper

Speed: a picture of 12 megapixels, already rectified. Bounds: 2 s and 1 GB. Peer: one real
two-dimensional FFT of the same picture (scipy.fft.rfft2), which any reading of the whole
picture's spectrum would need at least once.

Rightness, with FIELDLEAF_SHEETS: so many random sheets, transmitted and raking, with drawings,
stains, perspective, mistapped corners, blur, noise, uneven light and JPEG; and a quarter as
many of each kind that must be refused. The seeds, from FIELDLEAF_SEED (5,000) up, are not
those the reading was made with (below 2,000).
"""

import itertools
import math
import os
import resource
import statistics
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from scipy import fft

from survey.demo.sheet.recipe import SheetRecipe
from survey.demo.sheet.render import build, render
from survey.demo.sheet.truth import truth_of
from survey.imaging.chains import crosses
from survey.imaging.geometry import RectifiedSheet
from survey.imaging.paper import Paper, read_paper
from tests.imaging.papers import KINDS, Shot, rectified, shot

TIME_BOUND_S, MEMORY_BOUND_MB = 2.0, 1000.0
LAID_BOUND, INTERVAL_BOUND_MM = 0.01, 0.3
# Of a true interval near the sheet's edge too little may be seen: lines shorter than this there.
SHORTEST_LINE_MM = 40.0


@dataclass
class Tally:
    """What was found on the sheets of one kind, against the truth."""

    told: Counter[str] = field(default_factory=Counter)
    laid_off: list[float] = field(default_factory=list)
    laid_z: list[float] = field(default_factory=list)
    worst_mm: list[float] = field(default_factory=list)
    interval_z: list[float] = field(default_factory=list)
    mean_z: list[float] = field(default_factory=list)
    angle_z: list[float] = field(default_factory=list)
    place_z: list[float] = field(default_factory=list)
    found: list[tuple[int, int]] = field(default_factory=list)
    no_chains: int = 0
    wrong: list[str] = field(default_factory=list)


def judged(kind: str, seeds: range, longest_mm: float = 260.0) -> Tally:
    """Read every sheet and hold it against its truth."""
    tally = Tally()
    for seed in seeds:
        judge(shot(seed, kind, longest_mm), tally)
    return tally


def judge(one: Shot, tally: Tally) -> Paper:
    paper = read_paper(one.sheet, one.light, one.azimuth_deg, one.tap_mm)
    tally.told[paper.make] += 1
    right = {"measurable": ("laid",), "wove": ("wove", "not measurable")}
    if paper.make not in right.get(one.kind, ("not measurable",)):
        tally.wrong.append(f"{one.kind} {one.seed} {one.light}: {paper.make}. {paper.why}")
    if one.kind != "measurable" or paper.laid_per_cm is None:
        return paper
    truth = one.truth
    off = paper.laid_per_cm.value - truth["laid_per_cm"]
    tally.laid_off.append(abs(off) / truth["laid_per_cm"])
    tally.laid_z.append(off / paper.laid_per_cm.u)
    turn = truth["chain_angle_deg"]
    if paper.chains and paper.chain_angle_deg is not None:
        tally.angle_z.append((paper.chain_angle_deg.value - turn) / paper.chain_angle_deg.u)
    if one.azimuth_deg is not None and not crosses(one.azimuth_deg, turn):
        return paper
    _judge_chains(one, paper, tally)
    return paper


def _judge_chains(one: Shot, paper: Paper, tally: Tally) -> None:
    offsets = np.array(one.truth["chain_offsets_mm"])
    could = [o for o in offsets if _length_mm(one, o) >= SHORTEST_LINE_MM]
    if len(paper.chains) < 2:
        tally.no_chains += 1
        tally.found.append((0, len(could)))
        return
    at = [int(np.argmin(np.abs(offsets - line.offset_mm))) for line in paper.chains]
    tally.found.append((len({offsets[i] for i in at} & set(could)), len(could)))
    worst = 0.0
    for (i, j), interval in zip(itertools.pairwise(at), paper.intervals, strict=True):
        if interval.whole:
            off = interval.mm - (offsets[j] - offsets[i]) if j == i + 1 else math.inf
            worst = max(worst, abs(off))
            if math.isfinite(off):
                tally.interval_z.append(off / interval.u_mm)
    tally.worst_mm.append(worst)
    if worst > INTERVAL_BOUND_MM:
        tally.wrong.append(f"{one.kind} {one.seed} {one.light}: an interval is off {worst:.2f} mm")
    tally.place_z += [
        (line.offset_mm - offsets[i]) / line.u_mm for i, line in zip(at, paper.chains, strict=True)
    ]
    if paper.mean_mm is not None and all(one.whole for one in paper.intervals):
        true = (offsets[at[-1]] - offsets[at[0]]) / (len(at) - 1)
        tally.mean_z.append((paper.mean_mm.value - true) / paper.mean_mm.u)


def _length_mm(one: Shot, offset_mm: float) -> float:
    """How much of a chain line lies on the sheet."""
    angle = math.radians(one.truth["chain_angle_deg"])
    w, h = one.truth["sheet_mm"]
    steps = np.arange(-w - h, w + h, 0.5)
    x = offset_mm * math.cos(angle) - steps * math.sin(angle)
    y = offset_mm * math.sin(angle) + steps * math.cos(angle)
    return float(np.sum((x >= 0) & (x <= w) & (y >= 0) & (y <= h)) * 0.5)


def _share(values: list[float], most: float) -> str:
    """For example ``39/40 (98 %)``."""
    within = sum(abs(value) <= most for value in values)
    return f"{within}/{len(values)} ({100 * within / max(1, len(values)):.0f} %)"


def rightness(sheets: int, first_seed: int) -> None:
    print(f"\nRightness on {sheets} measurable sheets, seeds from {first_seed}")
    for kind in KINDS:
        count = sheets if kind == "measurable" else max(4, sheets // 4)
        tally = judged(kind, range(first_seed, first_seed + count))
        print(f"  {kind:<11} told: {', '.join(f'{n} {make}' for make, n in tally.told.items())}")
        if kind == "measurable":
            _print_measured(tally)
        for line in tally.wrong:
            print(f"      {line}")


def _print_measured(tally: Tally) -> None:
    print(f"    laid density within 1 %         {_share(tally.laid_off, LAID_BOUND)}")
    print(f"    all intervals within 0.3 mm     {_share(tally.worst_mm, INTERVAL_BOUND_MM)} sheets")
    found, could = (sum(pair[i] for pair in tally.found) for i in (0, 1))
    print(f"    chain lines found               {found}/{could}, none on {tally.no_chains} sheets")
    for name, z in (
        ("laid density", tally.laid_z),
        ("interval", tally.interval_z),
        ("mean interval", tally.mean_z),
        ("line's place", tally.place_z),
        ("angle", tally.angle_z),
    ):
        print(f"    {name:<14} within 1 u {_share(z, 1)}, within 2 u {_share(z, 2)}")


def _large() -> RectifiedSheet:
    """12 megapixels: a sheet of 400 × 300 mm at 10 pixels to a millimetre."""
    recipe = SheetRecipe(seed=77, width_mm=400.0, height_mm=300.0, laid_per_cm=9.3)
    sheet = build(recipe, 5.0)
    pixels = render(sheet, "transmitted")
    matrix = np.array(truth_of(sheet)["homography"]).reshape(3, 3)
    return rectified(pixels, matrix, (400.0, 300.0), 10.0)


def _timed(work: Callable[[], object], rounds: int = 5) -> float:
    durations = []
    for _ in range(rounds):
        began = time.perf_counter()
        work()
        durations.append(time.perf_counter() - began)
    return statistics.median(durations)


def speed() -> None:
    sheet = _large()
    megapixels = sheet.pixels.shape[0] * sheet.pixels.shape[1] / 1e6
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    took = _timed(lambda: read_paper(sheet, "transmitted"))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    whole = sheet.pixels.mean(axis=2, dtype=np.float32)
    peer = _timed(lambda: fft.rfft2(whole))
    print(
        f"Reading {megapixels:.0f} megapixels: {took:.2f} s (bound {TIME_BOUND_S:.0f} s), ", end=""
    )
    print(f"{took / peer:.1f} times one FFT of the whole ({peer:.2f} s)")
    print(f"Peak memory {peak:.0f} MB (bound {MEMORY_BOUND_MB:.0f} MB; {before:.0f} MB before)")


if __name__ == "__main__":
    speed()
    sheets = int(os.environ.get("FIELDLEAF_SHEETS", "0"))
    if sheets:
        rightness(sheets, int(os.environ.get("FIELDLEAF_SEED", "5000")))
