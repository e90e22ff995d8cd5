"""Rows of the loans: light that objects had, what goes out on loan, and the checks on its way."""

from survey.loans.models.checks import LoanCheck, PointCheck, Signature
from survey.loans.models.lending import Loan, LoanedObject
from survey.loans.models.light import Category, Display, ExposureLimit, Responsivity

__all__ = [
    "Category",
    "Display",
    "ExposureLimit",
    "Loan",
    "LoanCheck",
    "LoanedObject",
    "PointCheck",
    "Responsivity",
    "Signature",
]
