"""Says in words how a loan stands: its days, checks and passes."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from survey.access.models import LoanPass
from survey.loans.chains import Chain, Standing
from survey.loans.days import days_in_words
from survey.loans.hands import half_signed
from survey.loans.models import Loan, LoanCheck
from survey.reports.words import day_in_words, moment_in_words


@dataclass(frozen=True)
class Link:
    """One step of a chain: a check, or the place where one is still missing.

    state  "signed", "begun" or "none": how it is drawn
    """

    name: str
    stage: str
    state: str
    words: str
    check: LoanCheck | None = None


@dataclass(frozen=True)
class Held:
    """A pass as the desk lists it."""

    given: LoanPass
    words: str
    is_open: bool


def days_of(loan: Loan) -> str:
    return days_in_words(loan.first_day, loan.last_day)


def time_left(loan: Loan, today: date) -> str:
    """``begins in 3 days``, ``23 days left``, ``ended 4 days ago``."""
    if today < loan.first_day:
        return f"begins in {_days((loan.first_day - today).days)}"
    if today <= loan.last_day:
        left = (loan.last_day - today).days
        return f"{_days(left)} left" if left else "ends today"
    return f"ended {_days((today - loan.last_day).days)} ago"


def standing_in_words(standing: Standing) -> str:
    """``Arrival check of 2 of 5 objects signed``, and what was begun."""
    begun = f"; {_checks(standing.begun)} begun and not signed" if standing.begun else ""
    if not standing.number:
        return "No objects yet"
    if standing.stage is None:
        return f"All checks signed{begun}"
    name = standing.stage.label
    if not standing.is_due:
        return f"{name} check not due yet{begun}"
    of = f"{standing.signed} of {standing.number} object{'s' if standing.number > 1 else ''}"
    return f"{name} check of {of} signed{begun}"


def links_of(chain: Chain) -> list[Link]:
    """The steps of a chain, those that are missing among them."""
    found = []
    for stage in LoanCheck.Stage:
        checks = chain.at(stage)
        found += [_link(check) for check in checks]
        if not checks:
            words = "None" if stage == LoanCheck.Stage.INTERIM else "Not yet"
            found.append(Link(stage.label, stage.value, "none", words))
    return found


def _link(check: LoanCheck) -> Link:
    state = "signed" if check.is_signed else "begun"
    return Link(check.get_stage_display(), check.stage, state, check_in_words(check), check)


def check_in_words(check: LoanCheck) -> str:
    """``Signed 3 March 2026 by Wren Vale and Ro Fell``; or by one side only, and who has not."""
    examined = check.examination
    if not check.is_signed:
        return f"Begun {day_in_words(examined.started_at)} by {examined.examiner.name}, not signed"
    signatures = list(check.signatures.all())
    if not signatures:
        return "Closed, but no signature has arrived"
    names = " and ".join(one.name for one in signatures)
    half = half_signed(check)
    only = f" only; {half.lacks}" if half else ""
    return f"Signed {day_in_words(signatures[0].signed_at)} by {names}{only}"


def held(passes: Iterable[LoanPass], now: datetime) -> list[Held]:
    return [Held(one, pass_in_words(one, now), one.is_open(now)) for one in passes]


def pass_in_words(given: LoanPass, now: datetime) -> str:
    """``Opened on Blue phone on 3 March 2026, last seen …``, ``Withdrawn …``."""
    opened = "Not opened yet"
    if given.device is not None:
        seen = given.device.last_seen_at
        opened = (
            f"Opened on {given.device.name} on {day_in_words(given.device.enrolled_at)}, "
            f"{f'last seen {moment_in_words(seen)}' if seen else 'not seen since'}"
        )
    if given.revoked_at is not None:
        return f"Withdrawn {day_in_words(given.revoked_at)}. {opened}"
    if given.device is not None and given.device.revoked_at is not None:
        return f"Signed out {day_in_words(given.device.revoked_at)}. {opened}"
    if given.expires_at <= now:
        return f"Ended {day_in_words(given.expires_at)}. {opened}"
    return opened


def _days(number: int) -> str:
    return f"{number} day{'' if number == 1 else 's'}"


def _checks(number: int) -> str:
    return f"{number} check{'' if number == 1 else 's'}"
