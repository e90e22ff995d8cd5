"""What is drawn on the sheets: each subject is a function that draws on a page."""

from collections.abc import Callable

from survey.demo.sheet.noise import stream
from survey.demo.sheet.pen import Page
from survey.demo.sheet.recipe import SheetRecipe
from survey.demo.sheet.structure import Sheet
from survey.demo.sheet.subjects.botanical import flowering_plant
from survey.demo.sheet.subjects.building import facade
from survey.demo.sheet.subjects.composition import composition
from survey.demo.sheet.subjects.drapery import draped_figure
from survey.demo.sheet.subjects.harbour import harbour
from survey.demo.sheet.subjects.head import head
from survey.demo.sheet.subjects.landscape import landscape
from survey.demo.sheet.subjects.script import letter
from survey.demo.sheet.subjects.vessels import vessels

SUBJECTS: dict[str, Callable[[Page], None]] = {
    "landscape": landscape,
    "plant": flowering_plant,
    "facade": facade,
    "figure": draped_figure,
    "head": head,
    "harbour": harbour,
    "vessels": vessels,
    "composition": composition,
    "letter": letter,
}


def draw(sheet: Sheet, recipe: SheetRecipe) -> None:
    """Lay the recipe's drawing, if it has one, on the recto."""
    if recipe.drawing is None:
        return
    if recipe.drawing.subject not in SUBJECTS:
        raise ValueError(
            f"No subject is called {recipe.drawing.subject}: use one of {', '.join(SUBJECTS)}."
        )
    random = stream(recipe.seed, "drawing", recipe.drawing.subject)
    page = Page(sheet, recipe.drawing.box, recipe.drawing.medium, random)
    SUBJECTS[recipe.drawing.subject](page)
    page.finish()
