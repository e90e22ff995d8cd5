"""What a week plan says of itself in sentences: how good it is, what is late, what would help."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from survey.triage.plan.problem import day_in_words, hours_in_words
from survey.triage.rule import in_words
from survey.triage.week_input import NotPlanned

Result = Mapping[str, Any]


def day_of(result: Result, day: int) -> date:
    return date.fromisoformat(result["first_day"]) + timedelta(days=day)


def in_short(number: int | None) -> str:
    """``Late by 3 working days``."""
    if number is None:
        return "Does not fit into the planned weeks"
    return f"Late by {number} working day{'' if number == 1 else 's'}"


def how_good(result: Result) -> list[str]:
    """Sentences on what is late and on how much less could be at most."""
    late = len(result["late"])
    if result["by"] == "hand":
        return [
            f"{_things(late).capitalize()} late.",
            "Made by simple rules, because the solver is not installed on this server. It keeps "
            "every rule, but a better plan may be possible; how much better is not known.",
        ]
    said = [f"{_things(late).capitalize()} late."]
    fewest, measure = result["fewest_late"], result["measure"]
    if late and late == fewest:
        said.append(f"No plan can have fewer than {fewest} late.")
    elif late:
        said.append(
            f"No plan can have fewer than {fewest} late."
            if fewest
            else "Whether none could be late was not settled in the time."
        )
    if late and "late" in result["proven"]:
        said.append("What is late here is of the least importance that can be.")
    elif late and measure["late"]:
        share = 100 * (measure["late"] - result["bound"]) / measure["late"]
        said.append(
            f"Of the importance of what is late, at most {share:.0f} % could still be saved: that "
            "much the solver could not rule out."
        )
    if result["was_cut"]:
        said.append("It took longer than it may: made again, it may come out otherwise.")
    return said


def proven_in_words(result: Result) -> str:
    """Which aims no plan meets better, in the order in which they count."""
    if result["by"] == "hand":
        return ""
    names = {
        "late": "what is late",
        "left_out": "what does not fit",
        "hazards": "how soon hazards are done",
        "days_late": "by how much things are late",
        "switches": "how often somebody goes from one kind of work or project to another",
    }
    best = [names[part] for part in result["proven"] if part != "left_out"]
    open_ones = [
        name for part, name in names.items() if part not in (*result["proven"], "left_out")
    ]
    said = f"No plan is better in {_listed(best)}." if best else ""
    if open_ones:
        said += f" A better one may be possible in {_listed(open_ones)}."
    return said.strip()


def way_in_words(result: Result, late: Mapping[str, Any], way: Mapping[str, Any]) -> str:
    """One way out, as something to do."""
    names = {one["key"]: one["name"] for one in result["people"]}
    kind, amount = way["kind"], way["amount"]
    least = "; no less will do" if way["is_least"] else ""
    if kind == "hours":
        by = in_words(day_of(result, late["last_day"]))
        return f"{hours_in_words(amount)} more from {names[way['worker']]} by {by}{least}."
    if kind == "person":
        return (
            f"Let {names[way['worker']]} do it, who would have the time but not the skill so far."
        )
    if kind == "date":
        due = day_of(result, late["last_day"] + late["setting_days"] + amount)
        days = f"{amount} day{'' if amount == 1 else 's'}"
        return f"Move its date by {days}, to {in_words(due)}{least}."
    if kind == "hold":
        back = day_of(result, late["not_before"] - amount)
        return f"Let it come back from its hold sooner, on {in_words(back)}{least}."
    return f"Do {hours_in_words(amount)} less of it{least}."


def shared_in_words(result: Result, one: Mapping[str, Any]) -> str:
    """``Monday 4 May: Maren Askerby (PE.1, treat) and … are both at PE.1.``"""
    people = _listed([f"{person} ({work})" for person, work in one["work"]])
    return f"{day_in_words(day_of(result, one['day']))}: {people} are at {one['object']}."


def why_not_planned(one: NotPlanned) -> str:
    """``Held until 3 May 2026 by Maren Askerby: The press is away``."""
    hold = one.row.hold
    said = []
    if one.waits_for:
        names = _listed([row.name for row in one.waits_for])
        said.append(f"Waits for {names}, not planned either")
    if hold is not None:
        day = in_words(hold.until)
        until = f"expected by {day}" if one.waits_for else f"until {day}"
        said.append(f"Held {until} by {hold.by.name}: {hold.reason}")
    return ". ".join(said)


def _things(number: int) -> str:
    if not number:
        return "nothing is"
    return "one piece of work is" if number == 1 else f"{number} pieces of work are"


def _listed(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
