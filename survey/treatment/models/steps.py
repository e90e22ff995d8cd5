"""What a step says, whether it is proposed or was done."""

from typing import Any

from django.core.exceptions import ValidationError
from django.db import models

from survey.treatment.kinds import kind_name, kind_of

MOST_HOURS = 2000


class Step(models.Model):
    """One step. Its material is what is put on the sheet or worked with."""

    # Code from steps.json.
    kind = models.CharField(max_length=32)
    what = models.TextField()
    material = models.CharField(max_length=200, blank=True)
    # With its unit and what it is in: "2 % w/v in deionised water".
    concentration = models.CharField(max_length=200, blank=True)
    hours = models.FloatField()
    order = models.PositiveIntegerField(default=0)

    class Meta:
        abstract = True

    @property
    def kind_name(self) -> str:
        return kind_name(self.kind)

    @property
    def material_in_words(self) -> str:
        """``Methyl cellulose, 2 % w/v in deionised water``."""
        return ", ".join(filter(None, [self.material, self.concentration]))

    def wrong(self) -> dict[str, Any]:
        """A sentence by field for whatever does not hold."""
        wrong: dict[str, Any] = {}
        kind = kind_of(self.kind)
        if kind is None:
            wrong["kind"] = "Choose what kind of step it is."
        elif kind["needs_material"] and not self.material.strip():
            wrong["material"] = f"Name the material: “{kind['name']}” is done with one."
        if self.concentration.strip() and not self.material.strip():
            wrong.setdefault("material", "Name the material that has this concentration.")
        if not self.what.strip():
            wrong["what"] = "Say in a sentence what is done, and where on the sheet."
        if self.hours is not None and not 0 <= self.hours <= MOST_HOURS:
            wrong["hours"] = f"Give the hours as a number from 0 to {MOST_HOURS}."
        return wrong

    def clean(self) -> None:
        wrong = self.wrong()
        if wrong:
            raise ValidationError(wrong)
