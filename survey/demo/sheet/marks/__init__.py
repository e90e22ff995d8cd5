"""How each term of the condition vocabulary shows on a sheet."""

from survey.demo.sheet.marks import attachments, form, making, stains, surface, worn_media
from survey.demo.sheet.marks.brush import Stamp
from survey.demo.sheet.noise import stream
from survey.demo.sheet.structure import Sheet

STAMPS: dict[str, Stamp] = {
    **making.STAMPS,
    **worn_media.STAMPS,
    **surface.STAMPS,
    **stains.STAMPS,
    **attachments.STAMPS,
    **form.STAMPS,
}


def stamp(sheet: Sheet) -> None:
    """Put every mark of the sheet's recipe on it, in the order they are told."""
    for number, mark in enumerate(sheet.recipe.marks):
        if mark.term not in STAMPS:
            raise ValueError(
                f"The renderer cannot draw {mark.term}: use one of {', '.join(STAMPS)}."
            )
        random = stream(sheet.recipe.seed, "mark", mark.term, str(number))
        STAMPS[mark.term](sheet, mark, sheet.on_recto(mark), random)
