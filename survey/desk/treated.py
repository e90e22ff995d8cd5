"""A treatment as its page shows it: steps proposed and done, photographs by moment, hours."""

from dataclasses import dataclass
from typing import Any

from survey.reports.pictures import Plate, plates_of
from survey.treatment.kinds import Warned, warnings_at
from survey.treatment.models import (
    ChosenPhotograph,
    ProposalStep,
    RecordStep,
    TreatmentProposal,
    TreatmentRecord,
)


@dataclass(frozen=True)
class Shown:
    """A chosen photograph."""

    chosen: ChosenPhotograph
    plate: Plate


@dataclass(frozen=True)
class Treated:
    """planned, spent  hours
    done_of         the keys of proposed steps that were carried out
    photographs     (moment in words, what shows it), in the order before, during, after
    """

    steps: list[ProposalStep]
    planned: float
    warnings: list[Warned]
    record: TreatmentRecord | None
    done: list[RecordStep]
    done_of: set[Any]
    spent: float
    photographs: list[tuple[str, list[Shown]]]

    @property
    def chosen(self) -> int:
        return sum(len(shown) for _, shown in self.photographs)


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
        photographs=_by_moment(record) if record else [],
    )


def _by_moment(record: TreatmentRecord) -> list[tuple[str, list[Shown]]]:
    chosen = list(record.chosen.select_related("photograph"))
    plates = {
        plate.photograph.pk: plate
        for of_one in plates_of({one.photograph.examination_id for one in chosen}).values()
        for plate in of_one
    }
    return [
        (
            moment.label,
            [
                Shown(one, plates[one.photograph_id])
                for one in sorted(chosen, key=lambda one: one.photograph.taken_at)
                if one.moment == moment and one.photograph_id in plates
            ],
        )
        for moment in ChosenPhotograph.Moment
    ]
