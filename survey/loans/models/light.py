"""How long and how brightly objects hang, how they answer to light, and how much is allowed.

These rows live at the desk alone: no tablet carries them, so they are not in the change log.
"""

from datetime import date
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone

from survey.catalogue.models import Object
from survey.loans.days import year_trouble
from survey.loans.exposure import DAYS_A_WEEK, HOURS_A_DAY, Exposure, Spell, exposure_of

# Brighter than this is no daylight: a slip of the pen.
MOST_LUX = 200_000


def percentage(value: float) -> None:
    if not 0 < value <= 200:
        raise ValidationError(
            "Give the uncertainty in percent, above 0 and up to 200: no meter reads without any."
        )


class Category(models.TextChoices):
    """The four categories of CIE 157:2004; what belongs to each is in the data file."""

    IRRESPONSIVE = "irresponsive", "Irresponsive"
    LOW = "low", "Low"
    MEDIUM = "medium", "Medium"
    HIGH = "high", "High"


class Display(models.Model):
    """One stretch of days for which an object hung, hangs or is to hang in one place."""

    class Basis(models.TextChoices):
        MEASURED = "measured", "Measured"
        ESTIMATED = "estimated", "Estimated"

    object = models.ForeignKey(Object, on_delete=models.PROTECT, related_name="displays")
    # The exhibition, or the wall, in words: it may be another museum's.
    place = models.CharField(max_length=200)
    first_day = models.DateField()
    # Planned, while it lies ahead.
    last_day = models.DateField()
    lux = models.FloatField(
        validators=[
            MinValueValidator(0, "Illuminance is never below zero: give what the meter read, lx."),
            MaxValueValidator(
                MOST_LUX, f"Check the lux: {MOST_LUX:,} lx is more than full sunlight gives."
            ),
        ]
    )
    # One of the two is given: hours on a lit day, or hours over the whole display.
    hours_a_day = models.FloatField(null=True, blank=True)
    days_a_week = models.FloatField(default=DAYS_A_WEEK)
    hours_in_all = models.FloatField(null=True, blank=True)
    ultraviolet_uw_lm = models.FloatField(
        null=True,
        blank=True,
        validators=[
            MinValueValidator(0, "Ultraviolet is never below zero: leave it empty if not measured.")
        ],
    )
    basis = models.CharField(max_length=16, choices=Basis.choices)
    # Standard uncertainty of the lux hours, % of them.
    uncertainty_percent = models.FloatField(validators=[percentage])
    remark = models.CharField(max_length=300, blank=True)
    noted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    noted_at = models.DateTimeField(default=timezone.now)
    corrected_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    corrected_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["first_day", "id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(last_day__gte=models.F("first_day")),
                name="display_ends_after_it_begins",
            ),
            models.CheckConstraint(
                condition=models.Q(hours_a_day__isnull=False, hours_in_all__isnull=True)
                | models.Q(hours_a_day__isnull=True, hours_in_all__isnull=False),
                name="display_hours_told_one_way",
            ),
        ]

    def __str__(self) -> str:
        return self.place

    @property
    def spell(self) -> Spell:
        return Spell(
            self.first_day,
            self.last_day,
            self.lux,
            self.hours_a_day,
            self.days_a_week,
            self.hours_in_all,
            self.uncertainty_percent,
        )

    @property
    def exposure(self) -> Exposure:
        return exposure_of(self.spell)

    @property
    def days_in_words(self) -> str:
        return f"{self.first_day:%-d %B %Y} to {self.last_day:%-d %B %Y}"

    def clean(self) -> None:
        """Raises ValidationError with a sentence for each field; the same rules for a proposal."""
        wrong: dict[str, Any] = {**self._wrong_days(), **self._wrong_hours()}
        if wrong:
            raise ValidationError(wrong)
        if self.first_day and self.last_day:
            self._check_alone()

    def validate_constraints(self, exclude: Any = None) -> None:
        """Said by :meth:`clean`, in sentences; the constraints hold what passes it by."""

    def _wrong_days(self) -> dict[str, str]:
        wrong = {}
        for field, name in (("first_day", "first day"), ("last_day", "last day")):
            day: date | None = getattr(self, field)
            if day and (sentence := year_trouble(day, name)):
                wrong[field] = sentence
        if not wrong and self.first_day and self.last_day and self.last_day < self.first_day:
            wrong["last_day"] = (
                f"It ends on {self.last_day:%-d %B %Y}, before it begins on "
                f"{self.first_day:%-d %B %Y}. Change one of the two days."
            )
        return wrong

    def _wrong_hours(self) -> dict[str, str]:
        a_day, in_all = self.hours_a_day, self.hours_in_all
        wrong = {}
        if a_day is None and in_all is None:
            wrong["hours_a_day"] = "Say how long it is lit: the hours a day, or the hours in all."
        elif a_day is not None and in_all is not None:
            wrong["hours_in_all"] = (
                "Give the hours a day or the hours in all, not both: they might disagree."
            )
        elif a_day is not None and not 0 < a_day <= HOURS_A_DAY:
            wrong["hours_a_day"] = "A day has 24 hours: give more than 0 and no more than 24."
        elif in_all is not None and in_all <= 0:
            wrong["hours_in_all"] = "Give the hours in all as a number above zero."
        elif in_all is not None and self.first_day and self.last_day:
            most = ((self.last_day - self.first_day).days + 1) * HOURS_A_DAY
            if in_all > most > 0:
                wrong["hours_in_all"] = f"These days have {most:,.0f} hours in all: give no more."
        if self.days_a_week is not None and not 0 < self.days_a_week <= DAYS_A_WEEK:
            wrong["days_a_week"] = "A week has 7 days: give more than 0 and no more than 7."
        return wrong

    def _check_alone(self) -> None:
        """An object hangs in one place at a time."""
        other = (
            Display.objects.filter(
                object=self.object_id, first_day__lte=self.last_day, last_day__gte=self.first_day
            )
            .exclude(pk=self.pk)
            .first()
        )
        if other is not None:
            raise ValidationError(
                f"These days overlap “{other.place}”, {other.days_in_words}, and an object hangs "
                "in one place at a time. Change the days, or correct that display first."
            )


class Responsivity(models.Model):
    """The category a person put an object in. The newest holds; earlier ones are kept."""

    object = models.ForeignKey(Object, on_delete=models.PROTECT, related_name="responsivities")
    category = models.CharField(max_length=16, choices=Category.choices)
    reason = models.CharField(max_length=300)
    set_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT)
    set_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-id"]
        verbose_name_plural = "responsivities"

    def __str__(self) -> str:
        return self.get_category_display()


class ExposureLimit(models.Model):
    """The department's own limits for one category. The newest holds; earlier ones are kept.

    Where there is none, those of CIE 157:2004 hold. Empty numbers are no limit, which only the
    irresponsive category may have.
    """

    category = models.CharField(max_length=16, choices=Category.choices)
    lux = models.FloatField(null=True, blank=True)
    lux_hours_a_year = models.FloatField(null=True, blank=True)
    reason = models.CharField(max_length=300)
    set_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT)
    set_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-id"]

    def __str__(self) -> str:
        return self.get_category_display()

    def clean(self) -> None:
        wrong = {}
        for field, most, unit in (
            ("lux", MOST_LUX, "lx"),
            ("lux_hours_a_year", MOST_LUX * 24 * 366, "lx·h a year"),
        ):
            value = getattr(self, field)
            if value is None and self.category != Category.IRRESPONSIVE:
                wrong[field] = f"Give a limit in {unit}: only the irresponsive category has none."
            elif value is not None and not 0 < value <= most:
                wrong[field] = f"Give a limit above zero, in {unit}, that light can reach."
        if wrong:
            raise ValidationError(wrong)
