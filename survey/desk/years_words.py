"""Says in words what was measured of one place over the years. It foretells nothing."""

from survey.desk.years import Series
from survey.examination.trend import FEWEST, years_between
from survey.reports.words import valued

# A slope within so many standard uncertainties of nought is told as none that could be measured.
WITHIN = 2.0


def trend_in_words(series: Series) -> str:
    """What the measurements say together."""
    trend, values = series.trend, series.values
    if trend is None:
        if len(values) < FEWEST:
            return (
                f"{len(values)} measurement{'s' if len(values) != 1 else ''}: a rate is told from "
                f"{FEWEST} on."
            )
        return "No rate is told: a measurement has no uncertainty, or two are of one day."
    count = f"a straight line through {len(values)} measurements in {trend.years:.1f} years"
    rate = valued(abs(trend.a_year), trend.a_year_u, f"{series.unit} a year")
    if abs(trend.a_year) < WITHIN * trend.a_year_u:
        said = f"No steady change beyond the uncertainty: {rate}, as {count} has it."
    else:
        how = ("Longer", "Shorter") if series.unit == "mm" else ("Larger", "Smaller")
        said = f"{how[trend.a_year < 0]} by {rate}, as {count} has it."
    if trend.widened > 1:
        said += (
            " The measurements lie further off the line than their uncertainties let expect, so it "
            f"may not have changed evenly; the uncertainty is widened {trend.widened:.1f} times."
        )
    return said


def between_in_words(series: Series) -> str:
    """From the first to the last measurement: ``12.4 ± 0.3 mm to 18.1 ± 0.4 mm``."""
    first, last = series.values[0], series.values[-1]
    if first is last:
        return valued(first.value, first.uncertainty, series.unit)
    years = years_between(first.at, last.at)
    return (
        f"{valued(first.value, first.uncertainty, series.unit)} to "
        f"{valued(last.value, last.uncertainty, series.unit)} in {years:.1f} years"
    )
