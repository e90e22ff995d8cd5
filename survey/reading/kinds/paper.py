"""The structure of the paper: laid or wove, laid lines, chain lines and their intervals."""

from collections.abc import Sequence
from typing import Any

from survey.examination.models import Photograph
from survey.imaging.geometry import WrongPoints
from survey.imaging.opened import CannotRead
from survey.imaging.paper import (
    USUAL_CORNER_MM,
    Paper,
    WrongCorrection,
    corrected,
    paper_from,
    read_paper,
)
from survey.reading.kinds.job import Found, Job, Kind, newest
from survey.reading.trouble import CannotAsk, CannotCorrect

# What a person may say instead; see imaging's ``corrected``.
CHANGES = {"make", "chains_mm", "chain_angle_deg", "laid_count", "laid_over_mm"}


def choose(photographs: Sequence[Photograph], *_: Any) -> list[Photograph]:
    """Transmitted, else raking; both when there are both: the later ones are read when the
    first tells too little."""
    transmitted = newest(photographs, "transmitted")
    raking = {one.azimuth_deg: one for one in photographs if one.light == "raking"}
    chosen = [*([transmitted] if transmitted else []), *raking.values()]
    if not chosen:
        raise CannotAsk(
            "Laid lines and chain lines are read from a photograph in transmitted light, or in "
            "raking light: this side has neither."
        )
    return chosen


def read(job: Job) -> Found:
    papers: list[tuple[Paper, Photograph]] = []
    for number, one in enumerate(job.photographs):
        share = number / len(job.photographs)
        job.say(share, f"Straightening the photograph in {one.light} light")
        sheet = job.sheet(one)
        job.say(share + 0.3 / len(job.photographs), "Counting laid lines and chain lines")
        lie = job.placed[one.pk]
        corner_mm = lie.uncertainty_mm if lie.uncertainty_mm is not None else USUAL_CORNER_MM
        papers.append((read_paper(sheet, one.light, one.azimuth_deg, corner_mm), one))
        if papers[-1][0].laid_per_cm is not None and papers[-1][0].chains:
            break
    paper, used = max(papers, key=lambda one: _told(one[0]))
    return Found(paper.as_dict() | {"photograph": str(used.pk)}, _sentence(paper))


def correct(result: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
    unknown = set(changes) - CHANGES
    if unknown or not changes:
        raise CannotCorrect(f"Of the paper can be corrected: {', '.join(sorted(CHANGES))}.")
    try:
        paper = corrected(paper_from(result), **changes)
    except WrongCorrection as error:
        raise CannotCorrect(str(error)) from error
    except (TypeError, ValueError, OverflowError) as error:
        raise CannotCorrect(
            "Chain lines are numbers of millimetres, counts are numbers."
        ) from error
    return result | paper.as_dict()


def _told(paper: Paper) -> tuple[bool, int, bool]:
    """How much a reading tells: more is better."""
    measurable = paper.make != "not measurable"
    return (paper.laid_per_cm is not None, len(paper.chains), measurable)


def _sentence(paper: Paper) -> str:
    if paper.make != "laid":
        return paper.why
    said = [paper.why]
    if paper.laid_per_20mm is not None:
        laid = paper.laid_per_20mm
        said.append(f"{laid.value:.2f} ± {laid.u:.2f} laid lines in 20 mm.")
    if paper.mean_mm is not None:
        mean = paper.mean_mm
        said.append(
            f"{len(paper.chains)} chain lines, {mean.value:.2f} ± {mean.u:.2f} mm apart on the "
            "average."
        )
    elif paper.chains_why:
        said.append(paper.chains_why)
    return " ".join(said)


KIND = Kind(
    version=1,
    choose=choose,
    read=read,
    troubles=(CannotRead, WrongPoints),
    correct=correct,
)
