"""A sheet of paper made of numbers, and the camera that photographs it under five lights.

Arrays only: no Django. A :class:`~survey.demo.sheet.recipe.SheetRecipe` says what the sheet
is; :func:`~survey.demo.sheet.structure.build` makes its maps in millimetres;
:func:`~survey.demo.sheet.render.render` photographs it; and
:func:`~survey.demo.sheet.truth.truth_of` tells what is really there.
"""
