"""How a treatment stands, in sentences."""

from survey.reports.words import calendar_day, day_in_words
from survey.treatment.models import Decision, TreatmentProposal, TreatmentRecord

State = TreatmentProposal.State


def standing_in_words(proposal: TreatmentProposal) -> str:
    """``Put forward by Maren Askerby, 3 May 2026. The head of department decides.``"""
    who = proposal.proposed_by.name
    if proposal.state == State.FORWARD and proposal.put_forward_at:
        day = day_in_words(proposal.put_forward_at)
        return f"Put forward by {who}, {day}. The head of department decides."
    decision = proposal.decision
    if proposal.state in (State.APPROVED, State.SENT_BACK, State.WITHDRAWN) and decision:
        return decision_in_words(decision)
    if proposal.state == State.UNDER_WAY:
        record = proposal.record
        return f"Under way since {day_in_words(record.begun_at)}, begun by {record.begun_by.name}."
    if proposal.state == State.DONE:
        return _closed(proposal.record)
    return f"A draft by {who}, begun {day_in_words(proposal.made_at)}. Nobody decides on it yet."


def _closed(record: TreatmentRecord) -> str:
    by = f" by {record.closed_by.name}" if record.closed_by else ""
    on = f", {day_in_words(record.closed_at)}" if record.closed_at else ""
    again = record.look_again_on
    said = f" To be looked at again on {calendar_day(again)}." if again else ""
    return f"Done. Closed{by}{on}.{said}"


def decision_in_words(decision: Decision) -> str:
    """``Sent back by Isobel Fenwater, 4 May 2026: test the blue first.``"""
    said = f"{decision.get_word_display()} by {decision.person.name}, {day_in_words(decision.at)}"
    said += f": {decision.reason.rstrip('.')}." if decision.reason else "."
    if decision.by_the_only_head:
        said += " It was their own proposal: there was no other head of department."
    return said
