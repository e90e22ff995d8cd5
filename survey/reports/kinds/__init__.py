"""The kinds of report, by their codes."""

from survey.reports.job import Kind
from survey.reports.kinds import examination, loan_check
from survey.reports.models import Report

KINDS: dict[str, Kind] = {
    Report.Kind.EXAMINATION: examination.KIND,
    Report.Kind.LOAN_CHECK: loan_check.KIND,
}
