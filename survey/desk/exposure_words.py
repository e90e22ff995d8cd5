"""Says in words how much light there was, and how that stands to a limit."""

import math
from collections.abc import Sequence

from survey.loans.exposure import Balance, Exposure, Spell, State
from survey.loans.queries import Light, Limit, ProposedYear
from survey.reports.words import day_in_words

# Between thousands, as ISO 80000-1 has it: narrow, and no line breaks there.
THIN = "\u202f"

STATES = {
    State.NO_LIMIT: "No limit",
    State.WITHIN: "Within the limit",
    State.PERHAPS_OVER: "Within, but the uncertainty reaches past the limit",
    State.USED_UP: "Used up",
    State.OVER: "Over the limit",
}
# The worst first.
BY_WEIGHT = (State.OVER, State.USED_UP, State.PERHAPS_OVER, State.WITHIN, State.NO_LIMIT)


def grouped(number: float) -> str:
    """``150 000``, ``−1 200``, ``0.5``: thousands apart, no decimals that say nothing."""
    return f"{number:,.10g}".replace(",", THIN).replace("-", "−")


def lux_hours_in_words(exposure: Exposure) -> str:
    """``16 500 ± 1 600 lx·h``: the uncertainty to two figures, the value to the same place."""
    u = exposure.uncertainty
    places = max(0, math.floor(math.log10(u)) - 1) if u > 0 else 0
    value = grouped(round(exposure.lux_hours, -places) + 0.0)
    return f"{value} ± {grouped(round(u, -places))} lx·h" if round(u) else f"{value} lx·h"


def state_in_words(balance: Balance) -> str:
    return STATES[balance.state]


def balance_in_words(balance: Balance) -> str:
    """What is used of how much, and what that leaves."""
    used = lux_hours_in_words(balance.used)
    if balance.left is None or balance.limit is None:
        return f"{used}. Nothing limits it."
    share = f"{used}, {balance.percent:.0f} % of {grouped(balance.limit)} lx·h"
    if balance.state is State.OVER:
        over = Exposure(-balance.left.lux_hours, balance.left.uncertainty)
        return f"{share}: {lux_hours_in_words(over)} over the limit."
    if balance.state is State.USED_UP:
        return f"{share}: nothing is left."
    return f"{share}; {lux_hours_in_words(balance.left)} left."


def whose_in_words(limit: Limit) -> str:
    """Whose limit holds."""
    if limit.set_by is None or limit.set_at is None:
        return f"The limit of CIE 157:2004 ({limit.category['limits_source']})"
    return f"The department’s own, set by {limit.set_by.name} on {day_in_words(limit.set_at)}"


def pace_in_words(spell: Spell) -> str:
    """``8 h a day, 6 days a week``, or ``400 h in all``."""
    if spell.hours_in_all is not None:
        return f"{grouped(spell.hours_in_all)} h in all"
    return f"{grouped(spell.hours_a_day or 0)} h a day, {grouped(spell.days_a_week)} days a week"


def advice(light: Light, spell: Spell, years: Sequence[ProposedYear]) -> list[str]:
    """What the numbers say of a proposal, in sentences. The department decides."""
    if light.limit is None:
        return [
            "No category is set for this object yet, so there is no limit to hold it against. Set "
            "one below, and the same proposal says what is left."
        ]
    return [*_of_years(years), *_of_lux(light.limit, spell.lux)]


def _of_years(years: Sequence[ProposedYear]) -> list[str]:
    worst = min((one.own.state for one in years), key=BY_WEIGHT.index)
    named = " and ".join(str(one.year) for one in years if one.own.state is worst)
    return {
        State.NO_LIMIT: ["No exposure limits an object of this category."],
        State.WITHIN: ["By these figures it stays within the limit."],
        State.PERHAPS_OVER: [
            f"By these figures it stays within the limit of {named}, but twice the uncertainty "
            "reaches past it. Measure the light where it is to hang."
        ],
        State.USED_UP: [f"By these figures it uses {named} up: nothing would be left."],
        State.OVER: [
            f"By these figures it goes over the limit of {named}. Fewer days, fewer hours or less "
            "light would bring it within."
        ],
    }[worst]


def _of_lux(limit: Limit, lux: float) -> list[str]:
    if limit.lux is None:
        return []
    most = f"the limiting illuminance of {grouped(limit.lux)} lx"
    if lux > limit.lux:
        return [f"{grouped(lux)} lx is more than {most}."]
    return [f"{grouped(lux)} lx is no more than {most}."]
