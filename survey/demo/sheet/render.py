"""A photograph of a sheet: one side, one light, one camera."""

import numpy as np

from survey.demo.sheet import light as lights
from survey.demo.sheet import marks, subjects
from survey.demo.sheet.camera import Camera, Frame, Pixels, exposed, frame_of, scale_card
from survey.demo.sheet.noise import Field, cloud, stream
from survey.demo.sheet.recipe import TONES, SheetRecipe, Side
from survey.demo.sheet.structure import ABSORPTION_PER_MM, Sheet, bare_paper, blurred
from survey.demo.sheet.target import target_card
from survey.demo.sheet.watermarks import sew

BENCH = 0.21  # A neutral grey card, linear reflectance.
MASK = 0.012  # The dark card about a light sheet.
CARD_WHITE, CARD_BLACK = 0.72, 0.03

# Exposures that set bare paper where a photographer would.
REFLECTED = 0.86
RAKED = 0.66
THROUGH = 0.46
GLOW = 1.15

# Light spreads sideways within the sheet as it comes through.
SPREAD_MM = 0.11

RAKING_ELEVATION_DEG = 9.0
SPECULAR_ELEVATION_DEG = 35.0
# A little past the mirror angle: slopes then show, where at the angle itself they cancel out.
SPECULAR_VIEW_DEG = 53.0


def build(recipe: SheetRecipe, px_per_mm: float) -> Sheet:
    """The whole sheet of a recipe: paper, watermark, drawing, and all that befell it.

    Raises ValueError for a term, subject, medium or motif the renderer does not know.
    """
    sheet = bare_paper(recipe, px_per_mm)
    sew(sheet)
    subjects.draw(sheet, recipe)
    marks.stamp(sheet)
    return sheet


def render(
    sheet: Sheet,
    light: str,
    *,
    azimuth_deg: float = 0.0,
    elevation_deg: float | None = None,
    side: Side = "recto",
    camera: Camera | None = None,
    lamp_mm: float | None = None,
    label: str = "",
) -> Pixels:
    """Photograph ``sheet``: sRGB of shape (rows, columns, 3).

    light          normal, raking, transmitted, specular or ultraviolet
    azimuth_deg    raking and specular: where the light comes from, clockwise from the top
                   edge of the side that is seen
    elevation_deg  raking and specular: above the sheet; None takes the usual one
    lamp_mm        raking: how far away the lamp stands; None is infinitely far
    label          written on the scale card

    Raises ValueError for an unknown light.
    """
    camera = camera or Camera()
    if light not in lights.LIGHTS:
        raise ValueError(f"No light is called {light}: use one of {', '.join(lights.LIGHTS)}.")
    recipe = sheet.recipe
    frame = frame_of(
        (recipe.width_mm, recipe.height_mm), sheet.shape, sheet.px_per_mm, side, camera
    )
    scene = Scene(sheet, side, frame, label)
    if light == "normal":
        reflectance = scene.with_target(scene.reflectance())
        seen = REFLECTED * lights.by_normal(scene.height(), sheet.px_per_mm, reflectance)
        seen = seen * scene.contact_shadow()[:, :, None]
    elif light == "raking":
        seen = RAKED * lights.by_raking(
            scene.height(),
            sheet.px_per_mm,
            scene.reflectance(),
            azimuth_deg,
            RAKING_ELEVATION_DEG if elevation_deg is None else elevation_deg,
            lamp_mm,
        )
    elif light == "specular":
        seen = lights.by_specular(
            scene.height(),
            sheet.px_per_mm,
            scene.reflectance(),
            scene.gloss(),
            azimuth_deg,
            SPECULAR_ELEVATION_DEG if elevation_deg is None else elevation_deg,
            SPECULAR_VIEW_DEG if elevation_deg is None else elevation_deg,
        )
    elif light == "transmitted":
        seen = scene.through()
    else:
        seen = GLOW * scene.glow()
    shot = f"{light} {azimuth_deg} {side}"
    return exposed(seen, frame, camera, int(stream(recipe.seed, shot).integers(2**31)))


class Scene:
    """One side of a sheet on the bench, with the scale card: maps of the whole frame."""

    def __init__(self, sheet: Sheet, side: Side, frame: Frame, label: str) -> None:
        self.sheet, self.side, self.frame = sheet, side, frame
        rows, columns = sheet.shape
        self.place = (
            slice(frame.top_px, frame.top_px + rows),
            slice(frame.left_px, frame.left_px + columns),
        )
        self.card, self.card_place = scale_card(frame, label)

    def _turned(self, field: Field) -> Field:
        """As seen from this side: the verso mirrors x."""
        return field if self.side == "recto" else field[:, ::-1]

    def _laid_on(self, ground: Field, field: Field) -> Field:
        """``field`` of the sheet over ``ground`` of the frame, where there is paper."""
        present = self._turned(self.sheet.present)
        if ground.ndim == 3:
            present = present[:, :, None]
        ground[self.place] += present * (self._turned(field) - ground[self.place])
        return ground

    def _ground(self, *value: float) -> Field:
        shape = (self.frame.rows, self.frame.columns, *((len(value),) if len(value) > 1 else ()))
        return np.full(shape, value if len(value) > 1 else value[0], dtype=np.float32)

    def _with_card(self, picture: Field, white: Field, black: Field) -> Field:
        picture[self.card_place] = black + (white - black) * self.card[:, :, None]
        return picture

    def height(self) -> Field:
        """Surface towards the viewer, mm above the bench."""
        sheet = self.sheet
        towards_viewer = 1 if self.side == "recto" else -1
        lie = towards_viewer * sheet.height
        inside = lie[:: max(1, lie.shape[0] // 64), :: max(1, lie.shape[1] // 64)]
        lift = np.float32(max(0.0, -float(np.percentile(inside, 20))) + sheet.recipe.thickness_mm)
        return self._laid_on(self._ground(0.0), lie + sheet.relief[self.side] + lift)

    def reflectance(self) -> Field:
        sheet = self.sheet
        tone = np.array(TONES[sheet.recipe.tone], dtype=np.float32)
        behind = 0.10 * sheet.media["verso" if self.side == "recto" else "recto"]
        paper = tone * np.exp(-(sheet.media[self.side] + sheet.stain + behind))
        random = stream(sheet.recipe.seed, "bench")
        size = (self.frame.columns / self.frame.px_per_mm, self.frame.rows / self.frame.px_per_mm)
        texture = 1 + 0.012 * cloud(random, size, (self.frame.rows, self.frame.columns), 0.8)
        bench = np.repeat((BENCH * texture).astype(np.float32)[:, :, None], 3, axis=2)
        white, black = (np.full(3, tone, np.float32) for tone in (CARD_WHITE, CARD_BLACK))
        return self._with_card(self._laid_on(bench, paper), white, black)

    def with_target(self, picture: Field) -> Field:
        """With the colour target, where the frame has room for it."""
        if (target := target_card(self.frame)) is not None:
            card, place = target
            picture[place] = card
        return picture

    def gloss(self) -> Field:
        return self._laid_on(self._ground(0.10), np.clip(self.sheet.gloss[self.side], 0, 1))

    def through(self) -> Field:
        """Transmitted light, and bare lamp where there is no paper within the sheet's outline."""
        sheet = self.sheet
        tone = np.array(TONES[sheet.recipe.tone], dtype=np.float32)
        # Coloured pulp takes more of the light it does not throw back.
        absorption = ABSORPTION_PER_MM - np.float32(2.2) * np.log(tone / np.float32(0.8))
        # Absorbance is told as seen by reflection, where light goes through a layer twice.
        once = 0.5 * (sheet.media["recto"] + sheet.media["verso"]) + sheet.stain
        paper = lights.by_transmitted(sheet.thickness, absorption, once)
        paper = blurred(paper, SPREAD_MM * sheet.px_per_mm)
        usual = float(np.exp(-absorption * sheet.recipe.thickness_mm).mean())
        lamp = self._ground(MASK, MASK, MASK)
        holes = self._turned(_enclosed(sheet.present))[:, :, None]
        lamp[self.place] += holes * (np.float32(0.9 * usual / THROUGH) - lamp[self.place])
        seen = self._laid_on(lamp, paper) * np.float32(THROUGH / usual)
        # A scale on film: it lets the lamp through where it is white.
        return self._with_card(seen, np.full(3, 0.8, np.float32), np.full(3, 0.02, np.float32))

    def glow(self) -> Field:
        sheet = self.sheet
        bench = self._ground(0.006, 0.005, 0.016)
        tone = np.array(TONES[sheet.recipe.tone], dtype=np.float32)
        reflectance = tone * np.exp(-(sheet.media[self.side] + sheet.stain))
        paper = lights.by_ultraviolet(
            sheet.emission[self.side], sheet.quench[self.side], reflectance
        )
        white = np.array([0.10, 0.11, 0.17], dtype=np.float32)
        black = np.array([0.008, 0.006, 0.02], dtype=np.float32)
        return self._with_card(self._laid_on(bench, paper), white, black)

    def contact_shadow(self) -> Field:
        """The soft darkness on the bench at the foot of the sheet's edge."""
        ppm = self.frame.px_per_mm
        cover = self._ground(0.0)
        cover[self.place] = self._turned(self.sheet.present)
        spread = blurred(cover, 1.1 * ppm)
        return 1 - 0.45 * spread * (1 - cover)


def _enclosed(present: Field) -> Field:
    """Where the light sheet shows: holes and losses, but not the mask beyond a cut edge."""
    within = np.ones_like(present)
    within[[0, -1], :] = 0
    within[:, [0, -1]] = 0
    return within * (1 - present)
