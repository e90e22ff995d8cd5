"""The sheet of paper behind a catalogue entry: a recipe the renderer can follow."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from survey.demo.museum.rounds import Case
from survey.demo.museum.works import Work
from survey.demo.sheet.geometry import bounds, centre, rectangle
from survey.demo.sheet.noise import stream
from survey.demo.sheet.placing import place
from survey.demo.sheet.recipe import Drawing, Make, Mark, Mould, SheetRecipe, Watermark
from survey.demo.sheet.truth import LINE_REACH_MM, features
from survey.demo.sheet.watermarks import MOTIFS

MOULDS_SEED = 1687
# Where on its mould a watermark's middle lies, along the normal of the chain lines.
MARK_AT_MM = 100.0

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
        told_of = [_all_together(made)] if term in TOLD_TOGETHER else made
        sightings += [Sighting(term, severity, nature, mark) for mark in told_of]
        if term not in {mark.term for mark in features(paper)}:
            marks += made
    marks.sort(key=lambda mark: mark.term not in FIRST)
    return replace(paper, marks=tuple(marks)), sightings


# Made before the drawing was worn: they go under everything that came later.
FIRST = frozenset({"plate-mark", "incised-lines", "brush-marks-from-drying"})


# Small things that an examiner notes once for all of them.
TOLD_TOGETHER = frozenset({"insect-hole", "pinhole"})


def _all_together(marks: list[Mark]) -> Mark:
    """One mark whose outline holds all of these."""
    return replace(
        marks[0], points=rectangle(*bounds(point for mark in marks for point in mark.points))
    )


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
    paper = SheetRecipe(
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
    return _made_on(case.mould, paper) if case.mould else paper


def _made_on(mould: str, paper: SheetRecipe) -> SheetRecipe:
    """The sheet as it came from a mould that others share, with the upright chain lines and the
    watermark of that mould, from a place on it of its own."""
    random = stream(MOULDS_SEED, "mould", mould)
    seed = int(random.integers(2**31))
    chain, laid = float(random.uniform(23.5, 27.0)), float(random.uniform(8.6, 10.8))
    motif, height = str(random.choice(list(MOTIFS))), float(random.uniform(36, 42))
    at = float(stream(paper.seed, "place on the mould").uniform(0, MARK_AT_MM - height))
    figure = Watermark(motif, MARK_AT_MM - at, paper.height_mm / 2, height)
    turn = paper.chain_angle_deg % 90
    return replace(
        paper,
        chain_mm=chain,
        chain_jitter_mm=0.8,
        laid_per_cm=laid,
        chain_angle_deg=turn if turn < 45 else turn - 90,
        watermark=figure,
        mould=Mould(seed, at),
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
    across, down = max(1, round(right - left)), max(1, round(bottom - top))
    if mark.term in LINE_REACH_MM:
        return f"{_where(mark, size)}, {max(1, round(length_mm(mark)))} mm long."
    if mark.term in OPENINGS:
        return f"An opening of {across} × {down} mm."
    if across > 0.75 * size[0] and down > 0.75 * size[1]:
        return "Over the whole sheet."
    return f"{_where(mark, size)}, {across} × {down} mm."


OPENINGS = frozenset({"mat-burn", "light-darkening", "plate-mark", "fading"})


def _where(mark: Mark, size: tuple[float, float]) -> str:
    x, y = centre(mark.points)
    u, v = x / size[0], y / size[1]
    down = "Upper" if v < 0.36 else "Lower" if v > 0.64 else ""
    side = "left" if u < 0.36 else "right" if u > 0.64 else ""
    if not down and not side:
        return "Centre"
    return f"{down or 'Middle'} {side or 'middle'}"


def length_mm(mark: Mark) -> float:
    """Along a line told by its points."""
    steps = np.diff(np.asarray(mark.points), axis=0)
    return float(np.hypot(steps[:, 0], steps[:, 1]).sum())


def chosen_works(seed: int, collection: Sequence[Work], cases: Sequence[Case]) -> list[Work]:
    """For each case a work of its subject and medium that no other case has taken.

    A case that notes a watermark or chain lines needs laid paper. Raises LookupError when
    the collection is too small to serve every case.
    """
    taken: set[int] = set()
    order = stream(seed, "choice").permutation(len(collection))
    shuffled = [collection[int(number)] for number in order]
    chosen = []
    for case in cases:
        needs_laid = any(
            feature in told for told in case.seen for feature in ("watermark", "chain", "laid")
        )
        needs_new = case.subject == "composition" and case.medium == "colour-lithograph"
        for work in shuffled:
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
