"""What is proposed for an object, who agreed to it, and what was then done.

These rows live at the desk alone: no tablet carries them, so they are not in the change log. The
audit trail notes each change, and a backup holds them with the rest of the database.
"""

from survey.treatment.models.proposals import Decision, ProposalStep, TreatmentProposal
from survey.treatment.models.records import ChosenPhotograph, RecordStep, TreatmentRecord

__all__ = [
    "ChosenPhotograph",
    "Decision",
    "ProposalStep",
    "RecordStep",
    "TreatmentProposal",
    "TreatmentRecord",
]
