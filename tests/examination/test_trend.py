"""The straight line through measurements agrees with SciPy's, and statsmodels' where it is here."""

from datetime import timedelta

import numpy as np
import pytest
from django.utils import timezone
from scipy.optimize import curve_fit

from survey.examination.trend import DAYS_A_YEAR, Value, trend_of

START = timezone.now()
YEARS = np.array([0.0, 1.1, 2.9, 5.2, 8.0])
EVEN = np.array([12.1, 13.2, 15.0, 17.4, 19.8])
UNEVEN = np.array([12.1, 16.0, 14.2, 21.0, 17.0])
SPREADS = np.array([0.3, 0.5, 0.2, 0.6, 0.4])


def values(heights, spreads=SPREADS):
    return [
        Value(START + timedelta(days=DAYS_A_YEAR * year), float(height), float(spread))
        for year, height, spread in zip(YEARS, heights, spreads, strict=False)
    ]


@pytest.mark.parametrize("heights", [EVEN, UNEVEN])
def test_slope_height_and_uncertainties_are_those_of_scipy(heights):
    found = trend_of(values(heights))
    fitted, covariance = curve_fit(
        lambda x, a, b: a + b * x, YEARS, heights, sigma=SPREADS, absolute_sigma=True
    )
    assert found.a_year == pytest.approx(fitted[1], rel=1e-6)
    assert found.a_year_u / found.widened == pytest.approx(np.sqrt(covariance[1, 1]), rel=1e-6)
    height, spread = found.at(START)
    assert height == pytest.approx(fitted[0], rel=1e-6)
    assert spread / found.widened == pytest.approx(np.sqrt(covariance[0, 0]), rel=1e-6)


def test_what_scatters_further_than_its_uncertainties_widens_them():
    assert trend_of(values(EVEN)).widened == 1.0
    found = trend_of(values(UNEVEN))
    _, covariance = curve_fit(
        lambda x, a, b: a + b * x, YEARS, UNEVEN, sigma=SPREADS, absolute_sigma=False
    )
    assert found.widened > 3
    assert found.a_year_u == pytest.approx(np.sqrt(covariance[1, 1]), rel=1e-6)


def test_it_agrees_with_statsmodels():
    models = pytest.importorskip("statsmodels.api")
    fitted = models.WLS(UNEVEN, models.add_constant(YEARS), weights=1 / SPREADS**2).fit()
    found = trend_of(values(UNEVEN))
    assert found.a_year == pytest.approx(fitted.params[1], rel=1e-6)
    assert found.a_year_u == pytest.approx(fitted.bse[1], rel=1e-6)


def test_two_measurements_or_one_without_uncertainty_give_no_line():
    assert trend_of(values(EVEN[:2], SPREADS[:2])) is None
    assert trend_of(values(EVEN, [0.3, 0.0, 0.2, 0.6, 0.4])) is None
    assert trend_of([Value(START, 1.0, 0.1)] * 3) is None


def test_true_slopes_lie_within_two_uncertainties_about_as_often_as_they_should():
    random = np.random.default_rng(4)
    within = 0
    for _ in range(400):
        found = trend_of(values(10 + 0.7 * YEARS + random.normal(0, SPREADS)))
        within += abs(found.a_year - 0.7) < 2 * found.a_year_u
    assert 0.92 < within / 400 < 0.99
