"""The sheet of paper behind a catalogue entry: a recipe the renderer can follow."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from survey.demo.museum.rounds import Case
from survey.demo.museum.works import Work
from survey.demo.sheet.geometry import bounds, rectangle
from survey.demo.sheet.noise import stream
from survey.demo.sheet.placing import place
from survey.demo.sheet.recipe import Drawing, Make, Mark, SheetRecipe, Watermark
from survey.demo.sheet.truth import features
from survey.demo.sheet.watermarks import MOTIFS

STRENGTHS = {0: 0.8, 1: 0.36, 2: 0.66, 3: 1.0}
SEVERITIES = {0: "", 1: "slight", 2: "moderate", 3: "severe"}


@dataclass(frozen=True)
class Sighting:
    """One observation to be: its term, severity and nature, and the mark it tells of.

    mark  None for what lies off the sheet
    """

    term: str
    severity: str
    nature: str
    mark: Mark | None


def sheet_of(seed: int, work: Work, case: Case) -> tuple[SheetRecipe, list[Sighting]]:
    """The sheet of an examined object, and what an examiner who misses nothing would note."""
    random = stream(seed, "sheet", work.accession_number)
    paper = _paper(random, work, case)
    marks: list[Mark] = []
    sightings: list[Sighting] = []
    for told in case.seen:
        sign, term, level = _read(told)
        if sign == "!":
            sightings.append(Sighting(term, SEVERITIES[level], "damage", None))
            continue
        nature = {"+": "feature", "?": "unsure"}.get(sign, "damage")
        made = _marks_of(random, paper, term, STRENGTHS[level])
        if level == 0 or (term == "hinge" and level == 1):
            nature = "feature"
        severity = "" if nature == "feature" else SEVERITIES[level]
        sightings += [Sighting(term, severity, nature, mark) for mark in made]
        if term not in {mark.term for mark in features(paper)}:
            marks += made
    marks.sort(key=lambda mark: mark.term not in FIRST)
    return replace(paper, marks=tuple(marks)), sightings


# Made before the drawing was worn: they go under everything that came later.
FIRST = frozenset({"plate-mark", "incised-lines", "brush-marks-from-drying"})


def _read(told: str) -> tuple[str, str, int]:
    sign = told[0] if told[0] in "+?!" else ""
    term, _, level = told.removeprefix(sign).partition(" ")
    return sign, term, int(level or 0)


def _marks_of(
    random: np.random.Generator, paper: SheetRecipe, term: str, strength: float
) -> list[Mark]:
    made_with = [mark for mark in features(paper) if mark.term == term]
    if made_with:
        return made_with
    if term == "plate-mark" and paper.drawing is not None:
        left, top, right, bottom = paper.drawing.box
        d = 0.022 * (paper.width_mm + paper.height_mm) / 2 + 2
        return [Mark(term, rectangle(left - d, top - d, right + d, bottom + d), strength=0.8)]
    return place(term, random, (paper.width_mm, paper.height_mm), strength)


def _paper(random: np.random.Generator, work: Work, case: Case) -> SheetRecipe:
    year = work.latest_year
    make: Make = "laid" if work.support.startswith("Laid") else "wove"
    w, h = work.width_mm, work.height_mm
    chain = float(random.uniform(22.5, 28.0))
    wants_mark = any("watermark" in told for told in case.seen)
    early = year < 1790
    return SheetRecipe(
        seed=int(random.integers(2**31)),
        width_mm=w,
        height_mm=h,
        make=make,
        tone=_tone(random, work),
        thickness_mm=float(random.uniform(0.15, 0.22)),
        chain_angle_deg=float((0 if h <= w else random.choice([0, 90])) + random.normal(0, 0.6)),
        laid_per_cm=float(random.uniform(8.2, 11.5)),
        chain_mm=chain,
        chain_jitter_mm=float(random.uniform(0.3, 0.8)),
        chain_shadow=float(random.uniform(0.5, 0.9) if early else random.uniform(0.0, 0.2)),
        relief=float(random.uniform(0.8, 1.25)),
        mould_side="recto" if random.random() < 0.5 else "verso",
        deckle=bool(random.random() < 0.16),
        cockle_mm=float(random.uniform(0.06, 0.16)),
        # Brighteners came into paper about 1950; from memory.
        brightener=float(random.uniform(0.4, 0.8)) if year >= 1955 else 0.0,
        watermark=_watermark(random, w, h) if wants_mark and make == "laid" else None,
        drawing=Drawing(work.subject, work.medium, _box(w, h, work)),
    )


def _tone(random: np.random.Generator, work: Work) -> str:
    if "blue" in work.support:
        return "blue"
    if "mechanical wood" in work.support:
        return "aged"
    tones = ["cream", "ivory", "aged"] if work.latest_year < 1850 else ["ivory", "white", "cream"]
    return str(random.choice(tones, p=(0.5, 0.32, 0.18)))


def _watermark(random: np.random.Generator, w: float, h: float) -> Watermark:
    height = float(min(random.uniform(38, 58), 0.3 * min(w, h)))
    across = 0.5 if w < 200 else float(random.choice([0.3, 0.7]))
    return Watermark(
        str(random.choice(list(MOTIFS))),
        float(w * across + random.normal(0, 3)),
        float(h * 0.5 + random.normal(0, 4)),
        height,
    )


def _box(w: float, h: float, work: Work) -> tuple[float, float, float, float]:
    """Prints leave room for the plate; drawings run nearer to the edge."""
    margin = (0.13 if work.medium in ("etching", "engraving") else 0.075) * min(w, h)
    return margin, margin, w - margin, h - margin


def in_words(mark: Mark, size: tuple[float, float]) -> str:
    """Where a mark is and how large, as an examiner writes it beside a term."""
    left, top, right, bottom = bounds(mark.points)
    w, h = size
    if (right - left) > 0.75 * w and (bottom - top) > 0.75 * h:
        return "Over the whole sheet."
    x, y = (left + right) / 2 / w, (top + bottom) / 2 / h
    down = "Upper" if y < 0.36 else "Lower" if y > 0.64 else "Middle"
    side = " left" if x < 0.36 else " right" if x > 0.64 else ""
    where = "Centre" if down == "Middle" and not side else f"{down}{side or ' middle'}"
    return f"{where}, {_rounded(right - left)} × {_rounded(bottom - top)} mm."


def _rounded(length_mm: float) -> int:
    return max(1, round(length_mm))


def length_mm(mark: Mark) -> float:
    """Along a line told by its points."""
    steps = np.diff(np.asarray(mark.points), axis=0)
    return float(np.hypot(steps[:, 0], steps[:, 1]).sum())


def chosen_works(collection: Sequence[Work], cases: Sequence[Case]) -> list[Work]:
    """For each case the first work of its subject and medium that no other case has taken.

    A case that notes a watermark or chain lines needs laid paper. Raises LookupError when
    the collection is too small to serve every case.
    """
    taken: set[int] = set()
    chosen = []
    for case in cases:
        needs_laid = any(
            feature in told for told in case.seen for feature in ("watermark", "chain", "laid")
        )
        needs_new = case.subject == "composition" and case.medium == "colour-lithograph"
        for work in collection:
            if (
                work.number not in taken
                and (work.subject, work.medium) == (case.subject, case.medium)
                and (not needs_laid or work.support.startswith("Laid paper"))
                and (not needs_new or work.latest_year >= 1960)
                and min(work.width_mm, work.height_mm) >= 120
            ):
                taken.add(work.number)
                chosen.append(work)
                break
        else:
            raise LookupError(f"No {case.medium} of a {case.subject} is left in the collection.")
    return chosen
