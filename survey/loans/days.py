"""Days of loans and displays: what is held for a slip of the pen, and how a stretch is told."""

from datetime import date

from django.utils import timezone

# Paper is not older, and nobody plans further ahead.
EARLIEST_YEAR = 1600
MOST_YEARS_AHEAD = 30


def year_trouble(day: date, name: str) -> str:
    """A sentence where the year cannot be meant, else "". name: ``first day``."""
    if EARLIEST_YEAR <= day.year <= timezone.localdate().year + MOST_YEARS_AHEAD:
        return ""
    return f"Check the year of the {name}: {day.year} cannot be meant."


def days_in_words(first: date, last: date) -> str:
    """``3 March to 5 May 2026``; the year twice where it changes."""
    begins = f"{first:%-d %B}" if first.year == last.year else f"{first:%-d %B %Y}"
    return f"{begins} to {last:%-d %B %Y}"
