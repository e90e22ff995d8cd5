"""How near to the truth the readings of raking, transmitted and ultraviolet light come, how fast.

Run by hand:  .venv/bin/python -m tests.benchmarks.surface [sheets]

On random sheets of the renderer with drawings over everything:

- relief: median and 95 % error of the normals against the height field; bound 3° (median).
  Peer: calling every sheet flat.
- watermarks: how far the wires stand out from the paper about them, in its standard deviations;
  bound: more than in the transmitted photograph on 95 of 100. Peer: that photograph.
- ultraviolet: of sheets with a place that glows, on how many it is found; false regions a sheet.

Last, one relief of four photographs of 28 megapixels: seconds and the most memory used.
"""

import resource
import sys
import time

import numpy as np

from survey.demo.sheet.geometry import blob
from survey.demo.sheet.pen import MEDIA
from survey.demo.sheet.recipe import Drawing, Mark, SheetRecipe
from survey.demo.sheet.render import RAKING_ELEVATION_DEG, build
from survey.demo.sheet.subjects import SUBJECTS
from survey.imaging.fluorescence import read_ultraviolet
from survey.imaging.geometry import RectifiedSheet
from survey.imaging.relief import read_relief
from survey.imaging.watermark import enhanced
from tests.imaging.lit import degrees_between, lit, true_normals
from tests.imaging.test_fluorescence import true_ratio
from tests.imaging.test_watermark import drawn_over, plainness

AZIMUTHS = (0.0, 90.0, 180.0, 270.0)
NORMALS_BOUND_DEG = 3.0
WATERMARK_BOUND = 0.95
LARGE_PX = (4300, 6500)


def drawn_sheet(seed: int, *marks: Mark) -> SheetRecipe:
    random = np.random.default_rng(seed)
    drawing = Drawing(
        str(random.choice(list(SUBJECTS))), str(random.choice(list(MEDIA))), (8, 8, 102, 82)
    )
    return SheetRecipe(seed, 110.0, 90.0, drawing=drawing, marks=marks)


def relief(sheets: int) -> None:
    medians, most, flats = [], [], []
    for seed in range(sheets):
        crease = Mark("handling-crease", ((20.0, 60.0), (30.0, 66.0), (44.0, 69.0)))
        sheet = build(drawn_sheet(seed, crease), 6.0)
        raking = [(lit(sheet, "raking", azimuth, lamp_mm=400), azimuth) for azimuth in AZIMUTHS]
        found = read_relief(raking, lit(sheet, "normal"), RAKING_ELEVATION_DEG).normals
        true = true_normals(sheet)
        level = np.zeros_like(true)
        level[:, :, 2] = 1
        apart = degrees_between(found, true) if found is not None else level[:, :, 2] * 90
        medians.append(float(np.median(apart)))
        most.append(float(np.percentile(apart, 95)))
        flats.append(float(np.median(degrees_between(level, true))))
    print(
        f"Relief, {sheets} sheets: median error {np.median(medians):.2f}°, worst "
        f"{max(medians):.2f}° (bound {NORMALS_BOUND_DEG:g}°); 95 % of places within "
        f"{np.median(most):.2f}°; called flat: {np.median(flats):.2f}°"
    )


def watermarks(sheets: int) -> None:
    raw, ours = [], []
    for seed in range(sheets):
        sheet = drawn_over(seed)
        transmitted = lit(sheet, "transmitted")
        raw.append(plainness(transmitted.pixels[:, :, 1], sheet))
        ours.append(plainness(enhanced(transmitted, lit(sheet, "normal")), sheet))
    better = float(np.mean(np.array(ours) > np.array(raw)))
    print(
        f"Watermarks, {sheets} sheets: better on {100 * better:.0f} % (bound "
        f"{100 * WATERMARK_BOUND:.0f} %); median {np.median(ours):.1f} against "
        f"{np.median(raw):.1f} standard deviations"
    )


def ultraviolet(sheets: int) -> None:
    hits, false = 0, 0
    for seed in range(sheets):
        random = np.random.default_rng(seed)
        middle = float(random.uniform(15, 95)), float(random.uniform(12, 78))
        term = str(random.choice(["oil-stain", "adhesive-stain"]))
        strength = float(random.uniform(0.5, 1))
        mark = Mark(term, blob(random, middle, 4.5, 0.15), "recto", strength)
        sheet = build(drawn_sheet(seed, mark), 5.0)
        regions = read_ultraviolet(lit(sheet, "ultraviolet"), lit(sheet, "normal")).regions
        right = [region.ratio > 1 and true_ratio(sheet, region) > 1.05 for region in regions]
        hits += any(right)
        false += len(right) - sum(right)
    print(f"Ultraviolet: found on {hits} of {sheets} sheets; {false} false regions in all")


def large() -> None:
    sheet = build(drawn_sheet(1), 6.0)
    rows, columns = LARGE_PX

    def enlarged(picture: RectifiedSheet) -> RectifiedSheet:
        at_rows = np.arange(rows) * picture.pixels.shape[0] // rows
        at_columns = np.arange(columns) * picture.pixels.shape[1] // columns
        pixels = picture.pixels[at_rows][:, at_columns]
        return RectifiedSheet(pixels, 12.0, columns / 12.0, rows / 12.0)

    raking = [(enlarged(lit(sheet, "raking", azimuth)), azimuth) for azimuth in AZIMUTHS]
    normal = enlarged(lit(sheet, "normal"))
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    began, spent = time.perf_counter(), time.process_time()
    read_relief(raking, normal, RAKING_ELEVATION_DEG)
    after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"Relief of four photographs of 28 megapixels: {time.perf_counter() - began:.0f} s "
        f"({time.process_time() - spent:.0f} s of processor), most memory {after:.0f} MB, of "
        f"which {before:.0f} MB before it began"
    )


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    relief(count)
    watermarks(count)
    ultraviolet(count)
    large()
