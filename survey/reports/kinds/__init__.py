"""The kinds of report, by their codes."""

from survey.reports.job import Kind
from survey.reports.kinds import examination, loan_check, treatment
from survey.reports.models import Report

KINDS: dict[str, Kind] = {
    Report.Kind.EXAMINATION: examination.KIND,
    Report.Kind.LOAN_CHECK: loan_check.KIND,
    Report.Kind.PROPOSAL: treatment.PROPOSAL,
    Report.Kind.TREATMENT: treatment.RECORD,
}
