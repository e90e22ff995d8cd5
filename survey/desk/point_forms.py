"""Points on a photograph as forms: pixels of the upright picture, edges at whole numbers."""

from collections.abc import Iterator, Sequence
from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator

from survey.catalogue.models import LONGEST_SHEET_MM
from survey.reading.kinds.colour import charts

# From the top left clockwise, as seen in the photograph.
CORNERS = ("Top left corner", "Top right corner", "Bottom right corner", "Bottom left corner")
ENDS = ("One end of the scale", "The other end of the scale")
PLACES = ("First place", "Second place")

Pixels = list[list[float]]


class PointsForm(forms.Form):
    """As many points as there are names, each across and down."""

    names: Sequence[str] = ()

    def __init__(self, size: tuple[int, int], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for number in range(len(self.names)):
            for axis, label, most in zip("xy", ("Across, px", "Down, px"), size, strict=True):
                self.fields[f"{axis}{number}"] = forms.FloatField(
                    label=label,
                    validators=[MinValueValidator(0), MaxValueValidator(most)],
                    widget=forms.NumberInput(attrs={"step": "any", "inputmode": "decimal"}),
                )

    def point_fields(self) -> Iterator[tuple[str, list[Any]]]:
        """Each point's name and its two fields."""
        for number, name in enumerate(self.names):
            yield name, [self[f"x{number}"], self[f"y{number}"]]

    def other_fields(self) -> list[Any]:
        own = {f"{axis}{number}" for axis in "xy" for number in range(len(self.names))}
        return [field for field in self if field.name not in own]

    def points(self) -> Pixels:
        return [
            [self.cleaned_data[f"x{number}"], self.cleaned_data[f"y{number}"]]
            for number in range(len(self.names))
        ]


def initial_of(points: Pixels | None) -> dict[str, float]:
    """What the fields show at first, from points that are known."""
    return {
        f"{axis}{number}": round(value, 1)
        for number, point in enumerate(points or [])
        for axis, value in zip("xy", point, strict=True)
    }


class CornersForm(PointsForm):
    names = CORNERS


class ScaleForm(PointsForm):
    names = ENDS
    length_mm = forms.FloatField(
        label="Distance between the two ends, mm",
        validators=[MinValueValidator(0.1), MaxValueValidator(LONGEST_SHEET_MM)],
        help_text="Of a scale that lies in the plane of the sheet; the longer, the better.",
    )


class TargetForm(PointsForm):
    """Which colour target it is, and where."""

    names = ("First corner", "Second corner", "Third corner", "Fourth corner")
    chart = forms.ChoiceField(label="Colour target")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        known = [(code, chart.name) for code, chart in charts().items()]
        self.fields["chart"].choices = known  # type: ignore[attr-defined]


class PlacesForm(PointsForm):
    """Two places that are plain on two photographs; one form for each of the two."""

    names = PLACES
