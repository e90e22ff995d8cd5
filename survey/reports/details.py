"""The part of a photograph where one observation lies, large enough to compare."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from uuid import UUID

from survey.examination.pictures import region
from survey.imaging.previews import NoPreview
from survey.reading.placement import Lie, as_numbers
from survey.reports.drawing import through
from survey.reports.figures import Figure, Shape, labels_of, scale_of
from survey.sync.files import stored_path

# The room of a detail on the page, mm.
ROOM_MM = (77.0, 42.0)
DETAIL_PX = 1200
# How much of the detail its observation takes at most, and of the photograph a detail shows at
# least: a ring says nothing of how large a thing is.
FILLED = 0.6
LEAST_SHARE = 0.24

Box = tuple[int, int, int, int]


def detail_of(
    figures: Sequence[Figure],
    number: int,
    lies: Mapping[UUID, Lie],
    *,
    wanted: UUID | None = None,
    light: str = "",
) -> Figure | None:
    """Where an observation is drawn, of the photograph that shows it best.

    number  of the observation
    wanted  the key of the photograph to take rather than others, drawn on or not
    light   the light to prefer, so that two states are seen alike

    None where no photograph shows it.
    """
    shown = [one for one in figures if not one.trouble]
    named = next((one for one in shown if one.plate.photograph.pk == wanted), None)
    drawn = [one for one in shown if any(shape.number == number for shape in one.shapes)]
    drawn.sort(
        key=lambda one: (
            one is not named,
            one.plate.photograph.light != light,
            any(shape.is_behind for shape in one.shapes if shape.number == number),
        )
    )
    if named is not None and (not drawn or drawn[0] is not named):
        fitted = _px_per_mm(named.size)
        return replace(named, is_wide=False, detail=str(number), px_per_mm=fitted)
    if not drawn:
        return None
    return _cut(drawn[0], number, lies.get(drawn[0].plate.photograph.pk))


def _cut(figure: Figure, number: int, lie: Lie | None) -> Figure | None:
    [shape, *_] = [one for one in figure.shapes if one.number == number]
    box = box_of(shape, figure.size)
    try:
        jpeg = region(stored_path(figure.plate.photograph.sha256), box, DETAIL_PX)
    except NoPreview:
        return None  # The whole photograph was shown: the part is one too many for this file.
    left, top, right, bottom = box
    size = (right - left, bottom - top)
    moved = replace(shape, points=tuple((x - left, y - top) for x, y in shape.points))
    px_per_mm = _px_per_mm(size)
    middle = ((left + right) / 2, (top + bottom) / 2)
    return replace(
        figure,
        is_wide=False,
        size=size,
        shapes=(moved,),
        labels=tuple(labels_of([moved], size, px_per_mm)),
        scale=scale_of(lie, size[0], through(as_numbers(lie.matrix), middle)) if lie else None,
        jpeg=jpeg,
        detail=str(number),
        px_per_mm=px_per_mm,
    )


def box_of(shape: Shape, size: tuple[int, int]) -> Box:
    """The part of a picture of this size about a shape, of the room's proportions where the
    picture is large enough."""
    xs, ys = zip(*shape.points, strict=True)
    ratio = ROOM_MM[0] / ROOM_MM[1]
    width = max(
        LEAST_SHARE * max(size),
        (max(xs) - min(xs)) / FILLED,
        (max(ys) - min(ys)) / FILLED * ratio,
    )
    across, down = min(size[0], round(width)), min(size[1], round(width / ratio))
    left = _clamped((max(xs) + min(xs) - across) / 2, size[0] - across)
    top = _clamped((max(ys) + min(ys) - down) / 2, size[1] - down)
    return left, top, left + across, top + down


def _clamped(value: float, most: int) -> int:
    return min(max(0, round(value)), most)


def _px_per_mm(size: tuple[int, int]) -> float:
    """Of the page, so that a picture of this size fits its room."""
    return max(size[0] / ROOM_MM[0], size[1] / ROOM_MM[1])
