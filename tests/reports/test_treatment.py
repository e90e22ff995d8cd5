"""What a reader finds in the reports of a treatment."""

import logging
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from survey.access.models import Person
from survey.examination.models import Photograph
from survey.reports.kinds import KINDS
from survey.reports.models import Report
from survey.treatment import recording, services
from survey.treatment.models import TreatmentRecord
from tests.desk.readings import photographed
from tests.factories import PersonFactory, ProposalFactory, ProposalStepFactory
from tests.reports.documents import made, opened, tagged, text_of
from tests.reports.pdf_ua import faults

pytestmark = pytest.mark.django_db


@pytest.fixture
def record() -> TreatmentRecord:
    """Under way: of two proposed steps one was done, and one more; two photographs chosen."""
    head = PersonFactory(role=Person.Role.HEAD, first_name="Isobel", last_name="Fenwater")
    proposal = ProposalFactory(examination=photographed("normal", "raking", signed=True))
    mend = ProposalStepFactory(proposal=proposal)
    ProposalStepFactory(
        proposal=proposal, kind="reduce-stain-solvent", material="Ethanol", what="The stain."
    )
    services.put_forward(proposal, person=proposal.proposed_by)
    services.approve(proposal, person=head, reason="Photograph it first.")
    record = services.begin(proposal, person=proposal.proposed_by)
    step = {"kind": "mend", "material": "Wheat starch paste", "concentration": "1 : 4"}
    recording.note_step(
        record,
        None,
        person=proposal.proposed_by,
        done_on=timezone.localdate(),
        **step,
        proposed=mend,
        what="Mended in two sittings.",
        hours=2.25,
        seen="The edges met.",
    )
    recording.note_step(
        record,
        None,
        person=proposal.proposed_by,
        done_on=timezone.localdate(),
        proposed=None,
        kind="flatten",
        material="",
        concentration="",
        what="Flattened under felts.",
        hours=0.5,
        seen="",
    )
    normal, raking = Photograph.objects.order_by("light")
    recording.choose(record, [normal], person=head, moment="before")
    recording.choose(record, [raking], person=head, moment="after")
    return record


def in_order(text: str, *several: str) -> None:
    at = 0
    for words in several:
        found = text.find(words, at)
        assert found >= 0, f"{words!r} is not there, or not after what comes before it"
        at = found


def test_a_proposal_tells_all_that_is_decided_on(record: TreatmentRecord, caplog: Any) -> None:
    proposal = record.proposal
    with caplog.at_level(logging.WARNING, logger="weasyprint"):
        document = opened(made(proposal, kind=Report.Kind.PROPOSAL))
    in_order(
        text_of(document),
        "Treatment proposal", proposal.object.title, proposal.object.accession_number,
        "The object", "The proposal", "Aim", proposal.aim, "Steps", "3 h in all, as estimated.",
        "1 Mend a tear", "Mend the tear at the lower edge",
        "Material: Wheat starch paste, 1 : 4 in deionised water. Time: 1.5 h.",
        "2 Reduce a stain with a solvent", "Material: Ethanol", "Risks", proposal.risks,
        "Alternatives", proposal.alternatives,
        "Decision", "Approved by Isobel Fenwater", "Photograph it first.",
        "Cautions at these steps", "Solvent", "Extraction.", "Gloves.", "Waste.",
        "safety data sheet", "Nothing in it says that it was done.",
    )  # fmt: skip
    assert "Mended in two sittings." not in text_of(document)
    assert faults(document) == []
    assert [one.getMessage() for one in caplog.records if one.name == "weasyprint"] == []


def test_a_record_tells_what_was_done_and_what_was_not(
    record: TreatmentRecord, caplog: Any
) -> None:
    with caplog.at_level(logging.WARNING, logger="weasyprint"):
        document = opened(made(record, kind=Report.Kind.TREATMENT))
    in_order(
        text_of(document),
        "Treatment record", "Not closed.", "under way; nothing is said of its outcome yet",
        "What was done", "2.75 h in all; 3 h were planned.", "1 Mend a tear",
        "Mended in two sittings.", "Material: Wheat starch paste, 1 : 4. Time: 2.25 h.",
        "Seen meanwhile: The edges met.", "2 Flatten", "not foreseen in the proposal",
        "Before, during, after", "Normal light, recto", "1 Before: normal light, recto.",
        "Raking light", "2 After: raking light",
        "Steps, as proposed", "Carried out.", "Not carried out.", "Decision",
        "Cautions at these steps", "Solvent",
    )  # fmt: skip
    assert faults(document) == []
    pictures = [words for kind, words in tagged(document) if kind == "/Figure"]
    assert len(pictures) == 2 and all("in normal light" in w or "raking" in w for w in pictures)
    assert [one.getMessage() for one in caplog.records if one.name == "weasyprint"] == []


def test_closed_it_tells_the_outcome_and_when_to_look_again(record: TreatmentRecord) -> None:
    again = timezone.localdate() + timedelta(days=365)
    recording.close(record, person=record.begun_by, outcome="It holds.", look_again_on=again)
    text = text_of(opened(made(record, kind=Report.Kind.TREATMENT)))
    in_order(text, "Done. Closed by", "Outcome", "It holds.")
    assert f"To be looked at again on {again:%-d %B %Y}." in text
    assert "Not closed" not in text and "Cautions at these steps" not in text


def test_a_draft_says_so() -> None:
    proposal = ProposalFactory(risks="")
    document = opened(made(proposal, kind=Report.Kind.PROPOSAL))
    text = text_of(document)
    assert "Nobody has decided on this proposal" in text and "None are named yet." in text
    assert "Nothing is said of them yet." in text
    assert all("Draft." in page.extract_text() for page in document.pages)
    assert faults(document) == []


def test_its_revision_grows_with_each_change(record: TreatmentRecord) -> None:
    kind = KINDS[Report.Kind.TREATMENT]
    before = kind.revision(kind.find(record.pk))
    recording.take_out_step(record.steps.all()[0], person=record.begun_by)
    assert kind.revision(kind.find(record.pk)) > before
    record.proposal.examination.__class__.objects.update(revision=900)
    assert kind.revision(kind.find(record.pk)) > before + 800


def test_of_a_deleted_object_there_is_none(record: TreatmentRecord) -> None:
    type(record.proposal.object).objects.update(deleted_at=timezone.now())
    assert KINDS[Report.Kind.TREATMENT].find(record.pk) is None
    assert KINDS[Report.Kind.PROPOSAL].find(record.proposal.pk) is None
