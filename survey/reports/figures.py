"""Photographs as a report prints them: on neutral grey, with numbered outlines and a scale.

Each is one SVG picture (``svg.py``), so that the photograph and what is drawn on it are a single
figure with one alternative text.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import dist
from uuid import UUID

from survey.examination.models import Observation
from survey.examination.pictures import PREVIEW_PX, preview
from survey.imaging.previews import NoPreview
from survey.reading.placement import Lie, as_numbers
from survey.reports.dossier import Noted
from survey.reports.drawing import Point, gathered, inverse, through
from survey.reports.pictures import Plate, upright_sizes
from survey.reports.places import placed_on_sheet, places_of
from survey.reports.svg import LETTER_MM, RING_MM
from survey.reports.words import moment_in_words
from survey.sync.files import stored_of, stored_path

# The room of a photograph on the page, mm: across the page, or two beside each other.
WIDE_MM = (164.0, 104.0)
HALF_MM = (77.0, 58.0)
# How much of a photograph's width the scale takes at most.
SCALE_SHARE = 0.4
ROUND_MM = (500, 200, 100, 50, 20, 10, 5, 2, 1)
NOT_SENT = "This photograph has not arrived from the tablet that took it, so it is not shown."
GONE = (
    "The file of this photograph is missing or damaged on the server, so it is not shown. It can "
    "be taken from a backup."
)


@dataclass(frozen=True)
class Shape:
    """One observation on a photograph, in pixels of the upright picture.

    points     an outline, or the one point of a ring
    is_behind  it lies on the other side, and is drawn as seen through the sheet
    """

    number: int
    name: str
    points: tuple[tuple[float, float], ...]
    is_behind: bool

    @property
    def is_ring(self) -> bool:
        return len(self.points) == 1

    @property
    def top(self) -> tuple[float, float]:
        """Its highest point, above which the number stands."""
        return min(self.points, key=lambda point: point[1])


@dataclass(frozen=True)
class Label:
    """The number of a shape, or of several that lie too close for one each; a box in pixels."""

    text: str
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class Scale:
    """A length on the sheet, ``length`` pixels long in the middle of the picture."""

    mm: int
    length: float


@dataclass(frozen=True)
class Figure:
    """One photograph of a report.

    trouble      a sentence when it cannot be shown; nothing else of it is then told
    detail       of a part of a photograph: which one, to tell it from the whole
    px_per_mm    pixels of the upright picture to the millimetre of the page
    is_placed    whether it is known how large the sheet is on it, and so its scale
    is_by_scale  that is all that is known, and not where on the sheet it lies
    """

    number: int
    plate: Plate
    trouble: str
    is_wide: bool
    size: tuple[int, int] = (1, 1)
    px_per_mm: float = 1.0
    shapes: tuple[Shape, ...] = ()
    labels: tuple[Label, ...] = ()
    scale: Scale | None = None
    is_placed: bool = False
    is_by_scale: bool = False
    jpeg: bytes = b""
    detail: str = ""

    @property
    def name(self) -> str:
        return self.plate.name

    @property
    def width_mm(self) -> float:
        """On the page."""
        return self.size[0] / self.px_per_mm

    @property
    def address(self) -> str:
        return f"figure:{self.number}:{self.detail}"

    @property
    def photograph_address(self) -> str:
        return f"photograph:{self.number}:{self.detail}"

    @property
    def taken(self) -> str:
        return moment_in_words(self.plate.photograph.taken_at)

    @property
    def outlined(self) -> str:
        """``1 Tear, 4 Foxing``: what is drawn on it."""
        return ", ".join(f"{shape.number} {shape.name}" for shape in self.shapes)

    @property
    def has_behind(self) -> bool:
        return any(shape.is_behind for shape in self.shapes)


def figures_of(
    plates: Sequence[Plate],
    observations: Sequence[Noted],
    lies: Mapping[UUID, Lie],
    sheet_mm: tuple[float, float] | None,
    first: int = 1,
    widest: bool = True,
) -> list[Figure]:
    """The photographs in their order; previews are made where none is kept.

    first   the number of the first of them
    widest  the first of each side goes across the page, the others two beside each other
    """
    sizes = upright_sizes(plates)
    on_sheet = placed_on_sheet(lies)
    whole = set(stored_of({plate.photograph.sha256 for plate in plates}))
    figures: list[Figure] = []
    for number, plate in enumerate(plates, start=first):
        is_wide = widest and not any(
            one.plate.photograph.side == plate.photograph.side for one in figures
        )
        jpeg, trouble = _jpeg(plate, whole)
        if trouble:
            figures.append(Figure(number, plate, trouble, is_wide))
            continue
        size = sizes[plate.photograph.pk]
        room = WIDE_MM if is_wide else HALF_MM
        px_per_mm = max(size[0] / room[0], size[1] / room[1])
        lie = lies.get(plate.photograph.pk)
        shapes = tuple(shapes_of(plate, observations, on_sheet, sizes, sheet_mm))
        figures.append(
            Figure(
                number,
                plate,
                "",
                is_wide,
                size=size,
                px_per_mm=px_per_mm,
                shapes=shapes,
                labels=tuple(labels_of(shapes, size, px_per_mm)),
                scale=scale_of(lie, size[0], _middle(lie, size, sheet_mm)) if lie else None,
                is_placed=lie is not None,
                is_by_scale=lie is not None and lie.by_scale,
                jpeg=jpeg,
            )
        )
    return figures


def _jpeg(plate: Plate, whole: set[str]) -> tuple[bytes, str]:
    """The picture, or a sentence why there is none."""
    sha256 = plate.photograph.sha256
    if not plate.is_here:
        return b"", NOT_SENT
    if sha256 not in whole:
        return b"", GONE
    try:
        return preview(stored_path(sha256), PREVIEW_PX), ""
    except NoPreview as error:
        return b"", str(error)


def shapes_of(
    plate: Plate,
    observations: Iterable[Noted],
    lies: Mapping[UUID, Lie],
    sizes: Mapping[UUID, tuple[int, int]],
    sheet_mm: tuple[float, float] | None,
) -> Iterable[Shape]:
    """What is drawn on a photograph: observations of its side, and against the light those of the
    other.

    lies   of the photographs of which it is known where on the sheet they lie
    sizes  in pixels of the upright pictures
    """
    photograph = plate.photograph
    lie = lies.get(photograph.pk)
    matrix = inverse(as_numbers(lie.matrix)) if lie else None
    for noted in observations:
        seen = noted.observation
        is_behind = seen.side != photograph.side
        points: Sequence[Point] = places_of(seen, lies, sizes) if matrix else []
        if matrix and points and not is_behind:
            on_it = [through(matrix, point) for point in points]
        elif matrix and points and sheet_mm and photograph.light == "transmitted":
            # Against the light the other side is seen through the sheet, mirrored.
            on_it = [through(matrix, (sheet_mm[0] - x, y)) for x, y in points]
        elif seen.mark and seen.mark["photograph"] == str(photograph.pk):
            width, height = sizes[photograph.pk]
            on_it, is_behind = [(seen.mark["x"] * width, seen.mark["y"] * height)], False
        else:
            continue
        yield Shape(noted.number, seen.term.name, tuple(on_it), is_behind)


def shape_at(known: Observation, number: int, place: Iterable[Sequence[float]], lie: Lie) -> Shape:
    """What was seen at a place before, drawn on another photograph of its side.

    place  in sheet mm
    """
    back = inverse(as_numbers(lie.matrix))
    on_it = tuple(through(back, (x, y)) for x, y in place)
    return Shape(number, known.term.name, on_it, is_behind=False)


def labels_of(shapes: Sequence[Shape], size: tuple[int, int], px_per_mm: float) -> Iterable[Label]:
    letter, lift = LETTER_MM * px_per_mm, (RING_MM + 0.8) * px_per_mm
    # Those seen through the sheet are told apart from those that lie on top.
    near, behind = ([one for one in shapes if one.is_behind is side] for side in (False, True))
    for same in (near, behind):
        yield from _labels_beside(same, size, letter, lift)


def _labels_beside(
    shapes: Sequence[Shape], size: tuple[int, int], letter: float, lift: float
) -> Iterable[Label]:
    for group in gathered([shape.top for shape in shapes], 2 * letter):
        text = ", ".join(str(shapes[place].number) for place in group)
        width, height = (0.62 * len(text) + 0.5) * letter, 1.3 * letter
        x, y = shapes[group[0]].top
        is_ring = shapes[group[0]].is_ring
        above = y - height - (lift if is_ring else 0.3 * letter)
        if above < 0:
            above = y + (lift if is_ring else 0.3 * letter)
        yield Label(
            text,
            min(max(0.0, x - width / 2), size[0] - width),
            min(max(0.0, above), size[1] - height),
            width,
            height,
        )


def scale_of(lie: Lie, width_px: float, at_mm: Point) -> Scale | None:
    """The longest round length that fits below a picture, as it is at a place of the sheet."""
    matrix = inverse(as_numbers(lie.matrix))
    x, y = at_mm
    for mm in ROUND_MM:
        length = dist(through(matrix, (x - mm / 2, y)), through(matrix, (x + mm / 2, y)))
        if length <= SCALE_SHARE * width_px:
            return Scale(mm, length)
    return None


def _middle(lie: Lie, size: tuple[int, int], sheet_mm: tuple[float, float] | None) -> Point:
    """Of the sheet; where its size is not known, of the picture."""
    if sheet_mm:
        return sheet_mm[0] / 2, sheet_mm[1] / 2
    return through(as_numbers(lie.matrix), (size[0] / 2, size[1] / 2))
