"""A loan, on what conditions, and the objects that go with it."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from survey.catalogue.models import Object
from survey.loans.models.light import MOST_LUX
from survey.sync.models import SyncedRow

COLDEST_C, WARMEST_C = -40, 60
# Several times what daylight through window glass has: a slip of the pen.
MOST_ULTRAVIOLET_UW_LM = 10_000


class Loan(SyncedRow):
    """Objects of one lender at a borrower's for some time. Kept at the desk, read by tablets."""

    class Direction(models.TextChoices):
        OUT = "out", "Lent out"
        IN = "in", "Borrowed"

    reference = models.CharField(max_length=40)
    # The exhibition, or what else it is for.
    title = models.CharField(max_length=200)
    direction = models.CharField(max_length=4, choices=Direction.choices, default=Direction.OUT)
    lender = models.CharField(max_length=200)
    borrower = models.CharField(max_length=200)
    first_day = models.DateField()
    last_day = models.DateField()
    # [{"name": …, "first_day": "2027-01-31", "last_day": …}], in the order of the tour.
    venues = models.JSONField(default=list, blank=True)
    # Names of those who travel with the crates.
    couriers = models.JSONField(default=list, blank=True)
    # The conditions that lender and borrower agreed on. Empty is not agreed.
    most_lux = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(MOST_LUX)]
    )
    most_ultraviolet_uw_lm = models.FloatField(
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(MOST_ULTRAVIOLET_UW_LM)],
    )
    coolest_c = models.FloatField(
        null=True,
        blank=True,
        validators=[MinValueValidator(COLDEST_C), MaxValueValidator(WARMEST_C)],
    )
    warmest_c = models.FloatField(
        null=True,
        blank=True,
        validators=[MinValueValidator(COLDEST_C), MaxValueValidator(WARMEST_C)],
    )
    driest_percent = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(100)]
    )
    dampest_percent = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(100)]
    )
    # From lying flat, degrees: at most so steep. 90 hangs on the wall.
    steepest_display_deg = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(90)]
    )
    # Closed crates stand so long before they are opened.
    hours_to_acclimatise = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(1000)]
    )
    handling = models.TextField(blank=True)
    framing = models.TextField(blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["-first_day", "reference"]

    def __str__(self) -> str:
        return f"{self.reference} {self.title}"


class LoanedObject(SyncedRow):
    """One object of a loan, and how it travels."""

    loan = models.ForeignKey(Loan, on_delete=models.PROTECT, related_name="loaned")
    object = models.ForeignKey(Object, on_delete=models.PROTECT, related_name="loaned")
    crate = models.CharField(max_length=60, blank=True)
    frame = models.CharField(max_length=200, blank=True)
    glazing = models.CharField(max_length=200, blank=True)
    # Its place in the list of the loan.
    order = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["order", "id"]
