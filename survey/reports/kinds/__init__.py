"""The kinds of report, by their codes."""

from survey.loans.models import LoanCheck
from survey.reports.job import Kind
from survey.reports.kinds import examination, loan, loan_check, treatment
from survey.reports.models import Report

# What holds all checks of one stage of a loan.
OF_STAGE = {
    LoanCheck.Stage.OUTGOING: Report.Kind.LOAN_OUTGOING,
    LoanCheck.Stage.ARRIVAL: Report.Kind.LOAN_ARRIVAL,
    LoanCheck.Stage.INTERIM: Report.Kind.LOAN_INTERIM,
    LoanCheck.Stage.RETURN: Report.Kind.LOAN_RETURN,
}

KINDS: dict[str, Kind] = {
    Report.Kind.EXAMINATION: examination.KIND,
    Report.Kind.LOAN_CHECK: loan_check.KIND,
    **{OF_STAGE[stage]: loan.kind_of(stage) for stage in LoanCheck.Stage},
    Report.Kind.PROPOSAL: treatment.PROPOSAL,
    Report.Kind.TREATMENT: treatment.RECORD,
}
