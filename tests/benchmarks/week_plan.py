"""How soon a week plan is there, how good it is, and how soon it fits again after a pin.

Run by hand:  .venv/bin/python -m tests.benchmarks.week_plan [SEED]

A department of 8 people and 200 pieces of work over 6 weeks, at three loads: the work takes as many
hours as there are in these weeks, or more. Bounds: a plan within 10 s, and again within 3 s after a
pin, on a machine of two cores.
"""

import sys
import time
from dataclasses import replace

from survey.triage.plan.by_hand import plan_by_hand
from survey.triage.plan.measure import Orders, measure, timed
from survey.triage.plan.problem import Pin, Problem
from survey.triage.plan.solve import Solved, refit, solve
from tests.triage.plan.weeks import large

# Hours of work as a share of the hours there are, and the share of it that has a date.
LOADS = ((1.0, 0.4), (1.3, 0.4), (1.6, 0.5))
SEED = 0
PLAN_S, REFIT_S = 10.0, 3.0


def number_late(week: Problem, orders: Orders) -> int:
    placed = timed(week, orders) or {}
    return sum(one.is_late for one in placed.values())


def pinned(week: Problem, orders: Orders) -> Problem:
    """One piece of work pinned to a day two days before it begins, at its person."""
    placed = timed(week, orders) or {}
    free = [one for one in placed.values() if not one.job.after and 7 < one.begins < 40]
    chosen = free[len(free) // 2]
    day = next(day for day in range(chosen.begins - 2, -1, -1) if chosen.worker.quarters[day])
    pin = Pin(chosen.worker.key, day)
    jobs = (replace(job, pin=pin) if job is chosen.job else job for job in week.jobs)
    return replace(week, jobs=tuple(jobs))


def told(name: str, took: float, limit: float, week: Problem, solved: Solved) -> str:
    late = number_late(week, solved.orders)
    gap = (solved.measure.late - solved.bound) / solved.measure.late if solved.measure.late else 0
    cut = ", cut by the clock" if solved.was_cut else ""
    return (
        f"  {name:<8} {took:5.1f} s of {limit:.0f} s, {time.process_time():.1f} s of processor"
        f"{cut}: {late} late, no plan has fewer than {solved.fewest_late}; importance late "
        f"{solved.measure.late}, at least {solved.bound}, gap {gap:.0%}; hazards "
        f"{solved.measure.hazards}, switches {solved.measure.switches}; proven: "
        f"{', '.join(solved.proven) or 'nothing'}"
    )


def main(first: int = SEED) -> None:
    for place, (load, dated) in enumerate(LOADS):
        week = large(first + place, load=load, dated=dated)
        print(f"Work of {load:.0%} of the hours, {dated:.0%} of it dated", flush=True)
        began = time.perf_counter()
        by_hand = plan_by_hand(week)
        took = time.perf_counter() - began
        found = measure(week, by_hand)
        print(
            f"  by hand  {took:5.1f} s: {number_late(week, by_hand)} late, importance late "
            f"{found.late}, hazards {found.hazards}, switches {found.switches}",
            flush=True,
        )
        began = time.perf_counter()
        solved = solve(week)
        print(told("plan", time.perf_counter() - began, PLAN_S, week, solved), flush=True)
        again = pinned(week, solved.orders)
        began = time.perf_counter()
        fitted = refit(again, solved.orders)
        print(told("refit", time.perf_counter() - began, REFIT_S, again, fitted), flush=True)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
