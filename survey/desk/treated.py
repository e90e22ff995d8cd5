"""A treatment as its page shows it: steps proposed and done, photographs by moment, hours."""

from dataclasses import dataclass
from typing import Any

from survey.reports.chosen import Chosen, chosen_of
from survey.treatment.kinds import Warned, warnings_at
from survey.treatment.models import (
    ProposalStep,
    RecordStep,
    TreatmentProposal,
    TreatmentRecord,
)


@dataclass(frozen=True)
class Treated:
    """planned, spent  hours
    done_of         the keys of proposed steps that were carried out
    photographs     those under one light beside each other, before, during and after
    """

    steps: list[ProposalStep]
    planned: float
    warnings: list[Warned]
    record: TreatmentRecord | None
    done: list[RecordStep]
    done_of: set[Any]
    spent: float
    photographs: list[Chosen]


def treated(proposal: TreatmentProposal) -> Treated:
    """A fixed number of queries, whatever it holds."""
    steps = list(proposal.steps.all())
    record = getattr(proposal, "record", None)
    done = list(record.steps.select_related("done_by")) if record else []
    codes = [one.kind for one in (*steps, *done)]
    return Treated(
        steps=steps,
        planned=sum(one.hours for one in steps),
        warnings=warnings_at(codes),
        record=record,
        done=done,
        done_of={one.proposed_id for one in done if one.proposed_id},
        spent=sum(one.hours for one in done),
        photographs=chosen_of(record) if record else [],
    )
