"""What is proposed for an object, and what was done: for the curator, the owner and the file."""

from uuid import UUID

from survey.access.models import Person
from survey.reports.job import Document, Kind, Say, safe
from survey.reports.standing import revision_of
from survey.reports.svg import pictures_of
from survey.reports.treatment_content import proposal_content_of, record_content_of
from survey.reports.treatment_words import standing_in_words
from survey.treatment.models import TreatmentProposal, TreatmentRecord
from survey.treatment.queries import proposals


def find(key: UUID) -> TreatmentProposal | None:
    rows = proposals().select_related("examination__object", "examination__examiner")
    return rows.filter(pk=key).first()


def find_record(key: UUID) -> TreatmentRecord | None:
    rows = TreatmentRecord.objects.select_related("begun_by", "closed_by")
    record = rows.filter(pk=key).first()
    proposal = find(record.proposal_id) if record else None
    if record is None or proposal is None:
        return None
    record.proposal = proposal
    return record


def revision(proposal: TreatmentProposal) -> int:
    """Both only grow, so their sum does whenever one of them does."""
    return proposal.revision + revision_of(proposal.examination)


def gather(
    proposal: TreatmentProposal, maker: Person, tells: str, made_with: str, say: Say
) -> Document:
    content = proposal_content_of(proposal, maker, tells, made_with)
    return Document("reports/treatment.html", content, {}, "")


def gather_record(
    record: TreatmentRecord, maker: Person, tells: str, made_with: str, say: Say
) -> Document:
    content = record_content_of(record, maker, tells, made_with, say)
    return Document("reports/treatment.html", content, pictures_of(content.figures), content.lacks)


def number(proposal: TreatmentProposal) -> str:
    return proposal.object.accession_number


def file_name(proposal: TreatmentProposal) -> str:
    return f"{safe(number(proposal))} treatment proposal {proposal.made_at:%Y-%m-%d}"


def record_file_name(record: TreatmentRecord) -> str:
    return f"{safe(number(record.proposal))} treatment record {record.begun_at:%Y-%m-%d}"


def in_words(proposal: TreatmentProposal) -> str:
    return f"the treatment proposal of {number(proposal)}, {proposal.made_at:%-d %B %Y}"


def record_in_words(record: TreatmentRecord) -> str:
    return f"the treatment of {number(record.proposal)}, begun {record.begun_at:%-d %B %Y}"


PROPOSAL = Kind(find, revision, standing_in_words, gather, number, file_name, in_words)
RECORD = Kind(
    find=find_record,
    revision=lambda record: revision(record.proposal),
    tells=lambda record: standing_in_words(record.proposal),
    gather=gather_record,
    number=lambda record: number(record.proposal),
    file_name=record_file_name,
    in_words=record_in_words,
)
