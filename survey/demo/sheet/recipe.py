"""What a sheet is, in words and numbers small enough to keep beside its picture."""

import math
from dataclasses import asdict, dataclass, field
from typing import Any, Literal

from survey.demo.sheet.geometry import Points
from survey.demo.sheet.noise import stream

Side = Literal["recto", "verso"]
Make = Literal["laid", "wove"]

# Linear-light reflectance of red, green and blue. From memory of what such papers look like.
TONES: dict[str, tuple[float, float, float]] = {
    "white": (0.84, 0.825, 0.775),
    "cream": (0.80, 0.745, 0.635),
    "ivory": (0.82, 0.785, 0.70),
    "buff": (0.68, 0.585, 0.44),
    "aged": (0.71, 0.615, 0.465),
    "blue": (0.40, 0.455, 0.465),
    "grey": (0.50, 0.49, 0.46),
}


@dataclass(frozen=True)
class Mark:
    """One thing on the sheet that the condition vocabulary has a term for.

    points    a line (crease, tear, ruled line) or a closed outline (all others), in mm as
              seen from ``side``
    strength  0…1; a third is slight, two thirds moderate, one severe
    ridge     creases and folds: towards the viewer of ``side``, or away
    """

    term: str
    points: Points
    side: Side = "recto"
    strength: float = 0.66
    ridge: bool = True


@dataclass(frozen=True)
class Drawing:
    """A work drawn or printed on the recto, within ``box`` (left, top, right, bottom in mm)."""

    subject: str
    medium: str
    box: tuple[float, float, float, float]


@dataclass(frozen=True)
class Watermark:
    """A wire figure sewn to the mould: its motif, its middle and its height in mm."""

    motif: str
    x_mm: float
    y_mm: float
    height_mm: float


@dataclass(frozen=True)
class Mould:
    """The mould a sheet was made on, for sheets that share one and were cut differently.

    seed   fixes its chain wires; at_mm where on it the sheet begins, along their normal
    """

    seed: int
    at_mm: float = 0.0

    def __post_init__(self) -> None:
        if self.at_mm < 0:
            raise ValueError("A sheet cannot begin before its mould: give 0 mm or more.")


@dataclass(frozen=True)
class SheetRecipe:
    """Everything that fixes a sheet. Two equal recipes give the same sheet to the last bit.

    chain_angle_deg  direction of the chain lines, clockwise from the sheet's top edge's
                     normal: 0 is upright, 90 lies level; laid lines run across them
    laid_per_cm      laid lines in one centimetre; no meaning on wove paper
    chain_mm         mean chain-line interval; about 25 mm is usual (Roberts and Etherington,
                     Bookbinding and the Conservation of Books, "chain lines")
    chain_jitter_mm  standard deviation of one interval
    chain_shadow     0…1: the denser paper along the chain lines of early moulds
    relief           0…1 and more: how deep the mould stands in the surface
    cockle_mm        height of the undulation a handmade sheet keeps from drying
    brightener       0…1: optical brightener in the furnish
    mould            None: a mould of its own, of the sheet's seed
    """

    seed: int
    width_mm: float
    height_mm: float
    make: Make = "laid"
    tone: str = "cream"
    thickness_mm: float = 0.18
    chain_angle_deg: float = 0.0
    laid_per_cm: float = 10.0
    chain_mm: float = 25.0
    chain_jitter_mm: float = 0.5
    chain_shadow: float = 0.6
    relief: float = 1.0
    mould_side: Side = "verso"
    deckle: bool = False
    cockle_mm: float = 0.12
    brightener: float = 0.0
    watermark: Watermark | None = None
    drawing: Drawing | None = None
    marks: tuple[Mark, ...] = field(default=())
    mould: Mould | None = None

    def __post_init__(self) -> None:
        if self.width_mm <= 0 or self.height_mm <= 0:
            raise ValueError("A sheet needs a width and a height greater than 0 mm.")
        if self.tone not in TONES:
            raise ValueError(f"No paper tone is called {self.tone}: use one of {', '.join(TONES)}.")

    def as_dict(self) -> dict[str, Any]:
        """All fields; ``mould`` only where there is one, as sheets were told before moulds."""
        told = asdict(self)
        if self.mould is None:
            del told["mould"]
        return told

    def chain_offsets_mm(self) -> list[float]:
        """Where the chain lines lie: distances from the origin along their normal.

        A chain line of offset u holds the points with x cos a + y sin a = u, where a is
        ``chain_angle_deg``. Empty for wove paper.
        """
        if self.make == "wove":
            return []
        mould = self.mould or Mould(self.seed)
        random = stream(mould.seed, "chain lines")
        angle = math.radians(self.chain_angle_deg)
        corners = [
            x * math.cos(angle) + y * math.sin(angle)
            for x in (0.0, self.width_mm)
            for y in (0.0, self.height_mm)
        ]
        offset = min(corners) - mould.at_mm + random.uniform(0.15, 1.0) * self.chain_mm
        offsets = []
        while offset < max(corners):
            if offset >= min(corners):
                offsets.append(offset)
            offset += max(self.chain_mm * 0.5, random.normal(self.chain_mm, self.chain_jitter_mm))
        return offsets
