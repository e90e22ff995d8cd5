"""Examinations with rendered photographs that have arrived, for tests of readings."""

import hashlib
import tempfile
from functools import cache
from pathlib import Path
from typing import Any

from django.conf import settings

from survey.demo.sheet.camera import Camera, jpeg
from survey.demo.sheet.recipe import SheetRecipe
from survey.demo.sheet.render import build, render
from survey.demo.sheet.structure import Sheet
from survey.demo.sheet.truth import truth_of
from survey.examination.models import Examination, Photograph
from survey.sync.files import store
from tests.factories import ExaminationFactory, PhotographFactory

PX_PER_MM = 5.0
RECIPE = SheetRecipe(seed=11, width_mm=120.0, height_mm=100.0, laid_per_cm=9.0, chain_mm=24.0)
WOVE = SheetRecipe(seed=12, width_mm=120.0, height_mm=100.0, make="wove")


@cache
def built(recipe: SheetRecipe) -> Sheet:
    return build(recipe, PX_PER_MM)


@cache
def shot(
    recipe: SheetRecipe, light: str, azimuth_deg: float, side: Any, camera: Camera
) -> tuple[bytes, tuple[int, int], tuple[float, ...]]:
    """The file, its (width, height), and the true homography."""
    sheet = built(recipe)
    pixels = render(sheet, light, azimuth_deg=azimuth_deg, side=side, camera=camera)
    truth = truth_of(sheet, side, camera)
    size = pixels.shape[1], pixels.shape[0]
    return jpeg(pixels, PX_PER_MM), size, tuple(truth["homography"])


def examination(recipe: SheetRecipe = RECIPE, **fields: Any) -> Examination:
    made: Examination = ExaminationFactory(
        sheet_width_mm=recipe.width_mm, sheet_height_mm=recipe.height_mm, **fields
    )
    return made


def arrived(content: bytes) -> str:
    """Keep a file as one that was sent whole. Its SHA-256."""
    folder = Path(settings.UPLOADS_DIR)
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.NamedTemporaryFile(dir=folder, delete=False) as file:
        file.write(content)
    sha256 = hashlib.sha256(content).hexdigest()
    store(Path(file.name), sha256)
    return sha256


def photographed(
    of: Examination,
    light: str = "normal",
    *,
    recipe: SheetRecipe = RECIPE,
    azimuth_deg: float | None = None,
    side: str = "recto",
    camera: Camera | None = None,
    placed: bool = True,
    here: bool = True,
) -> Photograph:
    """One photograph. ``here``: its file has arrived; ``placed``: it lies as it truly does."""
    content, (width, height), homography = shot(
        recipe, light, azimuth_deg or 0.0, side, camera or Camera()
    )
    sha256 = arrived(content) if here else hashlib.sha256(content).hexdigest()
    made: Photograph = PhotographFactory(
        examination=of,
        light=light,
        azimuth_deg=azimuth_deg,
        side=side,
        sha256=sha256,
        size_bytes=len(content),
        width_px=width,
        height_px=height,
        homography=list(homography) if placed else None,
    )
    return made
