"""What every kind of reading is given, and what it gives back."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Protocol
from uuid import UUID

import numpy as np
from numpy.typing import NDArray

from survey.examination.models import Photograph
from survey.examination.pictures import original_path
from survey.imaging.geometry import Matrix, RectifiedSheet, mm_per_px, rectify
from survey.imaging.opened import Opened, read_picture
from survey.reading.placement import Lie
from survey.reading.trouble import CannotAsk, CannotCorrect, NotRead

Pixels = NDArray[np.uint8]
# (share done, 0…1; the step begun, in words)
Say = Callable[[float, str], None]

# Finer than this no photograph of a whole sheet is, and laid lines need no more.
FINEST_PX_PER_MM = 12.0
# A sheet of this many pixels is read in well under a gigabyte; a kind that holds more of them at
# once says a smaller number.
MOST_PX = 12e6


@dataclass(frozen=True)
class Job:
    """The photographs of one side, and how they lie on it.

    photographs  those that the kind chose, in order
    given        what the person told beside, see the kind
    placed       how each lies on the sheet, by its own placing first
    together     the same, by alignment first: for what compares two lights
    size_mm      (width, height) of the sheet
    """

    side: str
    photographs: Sequence[Photograph]
    placed: Mapping[UUID, Lie]
    together: Mapping[UUID, Lie]
    size_mm: tuple[float, float] | None
    say: Say
    given: Mapping[str, Any] = field(default_factory=dict)

    def opened(self, photograph: Photograph, longest_px: int | None = None) -> Opened:
        """Raises NotRead when it is not here, imaging's CannotRead when it cannot be read."""
        path = original_path(photograph.sha256)
        if path is None:
            raise NotRead(
                f"The photograph under {photograph.light} light is not here any more. Let the "
                "tablet that took it send again, or look for it in a backup."
            )
        return read_picture(path, longest_px)

    def sheet(
        self, photograph: Photograph, *, together: bool = False, most_px: float = MOST_PX
    ) -> RectifiedSheet:
        """The sheet straightened, as finely as the photograph itself, FINEST_PX_PER_MM and
        ``most_px`` pixels in all allow. Raises NotRead, CannotRead or WrongPoints."""
        lie = (self.together if together else self.placed).get(photograph.pk)
        if lie is None:
            raise NotRead(
                f"Nothing says how the photograph under {photograph.light} light lies on the "
                "sheet. Set its corners, or align the lights."
            )
        px_per_mm = self.px_per_mm(photograph, lie.matrix, most_px)
        return self.sheet_at(photograph, lie.matrix, px_per_mm)

    def sheets(
        self, photographs: Sequence[Photograph], *, most_px: float = MOST_PX, begin: float = 0.0,
        end: float = 0.5,
    ) -> list[RectifiedSheet]:  # fmt: skip
        """Several lights straightened alike, pixel on pixel, as finely as the coarsest allows."""
        lies = []
        for one in photographs:
            lie = self.together.get(one.pk)
            if lie is None:
                raise NotRead(
                    f"Nothing says how the photograph under {one.light} light lies on the sheet. "
                    "Align the lights, or set its corners."
                )
            lies.append(lie)
        finest = min(
            self.px_per_mm(one, lie.matrix, most_px)
            for one, lie in zip(photographs, lies, strict=True)
        )
        made = []
        for number, (one, lie) in enumerate(zip(photographs, lies, strict=True)):
            share = begin + (end - begin) * number / len(lies)
            self.say(share, f"Straightening photograph {number + 1} of {len(lies)}")
            made.append(self.sheet_at(one, lie.matrix, finest))
        return made

    def sheet_at(self, photograph: Photograph, matrix: Matrix, px_per_mm: float) -> RectifiedSheet:
        opened = self.opened(photograph)
        to_full = np.diag([1 / opened.scale, 1 / opened.scale, 1.0])
        return rectify(opened.pixels, matrix @ to_full, *self.size(), px_per_mm)

    def size(self) -> tuple[float, float]:
        """Of the sheet, mm. Raises NotRead when nobody measured it."""
        if self.size_mm is None:
            raise NotRead("Measure the sheet’s width and height first.")
        return self.size_mm

    def px_per_mm(self, photograph: Photograph, matrix: Matrix, most_px: float) -> float:
        width_mm, height_mm = self.size()
        corner = np.linalg.inv(matrix) @ (width_mm / 2, height_mm / 2, 1.0)
        own = 1 / mm_per_px(matrix, corner[:2] / corner[2])
        return float(min(FINEST_PX_PER_MM, own, np.sqrt(most_px / (width_mm * height_mm))))


@dataclass
class Found:
    """What a reading gives.

    result    as JSON holds it
    sentence  what was read, or what could not be measured
    pictures  pixels by name, (rows, columns) or (rows, columns, 3)
    """

    result: dict[str, Any]
    sentence: str
    pictures: dict[str, Pixels] = field(default_factory=dict)


class Correct(Protocol):
    def __call__(self, result: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]: ...


def needs_nothing(given: Mapping[str, Any]) -> None:
    if given:
        raise CannotAsk("This reading needs nothing but the photographs.")


def not_correctable(result: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
    raise CannotCorrect("Nothing in this reading can be corrected by hand: ask for it again.")


def dismissing(listed: str) -> Correct:
    """A correction of suggestions: ``{"dismiss": [place in the list, …]}`` for those that a
    person finds to be nothing, ``{"bring_back": […]}`` for those they want to see again."""

    def correct(result: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
        places = range(len(result[listed]))
        named = [one for part in changes.values() if isinstance(part, list) for one in part]
        if (
            not changes
            or not set(changes) <= {"dismiss", "bring_back"}
            or not all(isinstance(part, list) for part in changes.values())
            or not all(type(one) is int and one in places for one in named)
        ):
            raise CannotCorrect("Name suggestions of this reading, by their place in its list.")
        dismissed = set(result.get("dismissed", [])) | set(changes.get("dismiss", []))
        return result | {"dismissed": sorted(dismissed - set(changes.get("bring_back", [])))}

    return correct


class Choose(Protocol):
    """Those a kind uses, in order; raises CannotAsk.

    photographs  of one side, that are here
    before       those placed ones of that side that earlier examinations of the object took,
                 oldest first; only asked for by what compares two examinations
    given        what the person told
    """

    def __call__(
        self,
        photographs: Sequence[Photograph],
        before: Callable[[], Sequence[Photograph]],
        given: Mapping[str, Any],
        /,
    ) -> list[Photograph]: ...


@dataclass(frozen=True)
class Kind:
    """One kind of reading.

    version   raised whenever the same photographs may give another result
    lights    those it needs, in words, for the person who asks
    choose    the photographs it uses: see Choose
    read      raises NotRead or one of ``troubles``, each with a sentence
    troubles  errors of imaging whose message is a sentence for a person
    correct   (result that stands, what the person changed) → the whole result anew; raises
              CannotCorrect with a sentence
    placed    whether the photographs must lie on the sheet's millimetres
    check     what a person must tell beside, if anything; raises CannotAsk with a sentence
    """

    version: int
    choose: Choose
    read: Callable[[Job], Found]
    troubles: tuple[type[Exception], ...]
    correct: Correct = not_correctable
    placed: bool = True
    check: Callable[[Mapping[str, Any]], None] = needs_nothing


def newest(photographs: Sequence[Photograph], light: str) -> Photograph | None:
    """The last one taken under this light."""
    return next((one for one in reversed(photographs) if one.light == light), None)
