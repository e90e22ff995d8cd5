"""A week plan as a constraint model for CP-SAT of OR-Tools.

Every piece of work may stand once, at one person, as a stretch of that person's working time;
stretches of one person do not overlap. Days come in only where they matter: for each such piece of
work and each day stands a yes or no, "done by the end of this day".
"""

import time
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from ortools.sat.python import cp_model

from survey.triage.plan.measure import Orders, Schedule, switch
from survey.triage.plan.problem import Job, Problem, Worker, able

SEED = 1955
# One thread: the same input gives the same plan on every machine.
WORKERS = 1


@dataclass(frozen=True)
class Effort:
    """How long a search may last.

    work     in the solver's own units of work, near a second each; the same on every machine
    seconds  by the clock: a guard for slow machines, after which the plan may differ from run to
             run
    """

    work: float
    seconds: float


@dataclass(frozen=True)
class Answer:
    """What a search came to.

    orders  None when nothing was found
    bound   no plan has less of what was made least
    """

    orders: Orders | None
    bound: float
    is_proven: bool
    is_impossible: bool
    was_cut: bool


class Model:
    """All or some of the work of a problem. ``jobs`` must hold what its jobs wait for."""

    def __init__(self, problem: Problem, jobs: Iterable[Job] | None = None) -> None:
        self.problem = problem
        self.jobs = tuple(problem.placeable if jobs is None else jobs)
        self.cp = cp_model.CpModel()
        self.able = {job.key: able(problem, job) for job in self.jobs}
        self.at: dict[tuple[str, str], Any] = {}
        self.start: dict[tuple[str, str], Any] = {}
        self.out: dict[str, Any] = {}
        self._done_by: dict[str, list[Any]] = {}
        for job in self.jobs:
            self._place(job)
        for worker in problem.workers:
            self._one_at_a_time(worker)
        for job in self.jobs:
            for key in job.after:
                self._wait(problem.by_key[key], job)

    # What can be made least, each as in Measure.

    @cached_property
    def late(self) -> Any:
        return sum(self.problem.late_costs[key] * one for key, one in self.is_late.items())

    @cached_property
    def left_out(self) -> Any:
        return sum(job.weight * self.out[job.key] for job in self.jobs if job.key in self.out)

    @cached_property
    def hazards(self) -> Any:
        return sum(self._done_day(job) + 1 for job in self.jobs if job.is_hazard)

    @cached_property
    def days_late(self) -> Any:
        parts = []
        for job in self.jobs:
            last = job.last_day
            if last is not None and last < self.problem.days:
                # A day below 0 cannot be reached: those before the first count in full.
                before = max(0, -last)
                later = [1 - one for one in self.done_by(job)[max(last, 0) :]]
                parts.append(job.weight * (before + sum(later)))
        return sum(parts)

    @cached_property
    def switches(self) -> Any:
        return sum(self._switches_of(worker) for worker in self.problem.workers)

    @cached_property
    def is_late(self) -> dict[str, Any]:
        """For each piece of work that may be late: 1 if it is."""
        return on_time(self.cp, self.problem, self.jobs, self.able, self.at, self._be_on_time)

    def keep(self, expression: Any, most: int) -> None:
        self.cp.add(expression <= most)

    def hint(self, orders: Orders, schedule: Schedule) -> None:
        """Begin the search from a plan."""
        self.cp.clear_hints()
        for (key, worker), at in self.at.items():
            placed = schedule.get(key)
            is_here = placed is not None and placed.worker.key == worker
            self.cp.add_hint(at, is_here)
            if is_here and placed is not None:
                self.cp.add_hint(self.start[key, worker], placed.start)
        for key, out in self.out.items():
            self.cp.add_hint(out, key not in schedule)
        for key, days in self._done_by.items():
            placed = schedule.get(key)
            hinted = set()
            for day, one in enumerate(days):
                if one.index not in hinted:
                    hinted.add(one.index)
                    self.cp.add_hint(one, placed is not None and placed.done <= day)

    def search(self, least: Any, effort: Effort) -> Answer:
        self.cp.minimize(least)
        return search(self.cp, effort, self._orders)

    def done_by(self, job: Job) -> list[Any]:
        """For each day: true only if the work is done by its end."""
        if job.key not in self._done_by:
            self._done_by[job.key] = self._made_done_by(job)
        return self._done_by[job.key]

    def _place(self, job: Job) -> None:
        here = []
        for worker in self.able[job.key]:
            low, high = 0, worker.in_all - job.quarters
            if job.pin is not None:
                low = worker.until[job.pin.day - 1] if job.pin.day else 0
                high = min(high, worker.until[job.pin.day] - 1)
            if low > high:
                continue
            at = self.cp.new_bool_var("")
            self.at[job.key, worker.key] = at
            self.start[job.key, worker.key] = self.cp.new_int_var(low, high, "")
            here.append(at)
        if job.pin is not None:
            self.cp.add_exactly_one(here)
        else:
            self.out[job.key] = self.cp.new_bool_var("")
            self.cp.add_exactly_one([*here, self.out[job.key]])

    def _one_at_a_time(self, worker: Worker) -> None:
        stretches = [
            self.cp.new_optional_fixed_size_interval_var(
                self.start[job.key, worker.key], job.quarters, self.at[job.key, worker.key], ""
            )
            for job in self.jobs
            if (job.key, worker.key) in self.at
        ]
        self.cp.add_no_overlap(stretches)
        self.cp.add(
            sum(
                job.quarters * self.at[job.key, worker.key]
                for job in self.jobs
                if (job.key, worker.key) in self.at
            )
            <= worker.in_all
        )

    def _wait(self, before: Job, job: Job) -> None:
        """The rule of ``measure.timed``: on at once by the same person, by another the next day."""
        if before.key in self.out:
            if job.key in self.out:
                self.cp.add_implication(self.out[before.key], self.out[job.key])
            else:
                self.cp.add(self.out[before.key] == 0)
        done_by = (
            self.done_by(before)
            if len(self.able[before.key]) > 1 or (self.able[job.key] != self.able[before.key])
            else []
        )
        for worker in self.able[job.key]:
            key = worker.key
            if (job.key, key) not in self.at:
                continue
            here, start = self.at[job.key, key], self.start[job.key, key]
            same = self.at.get((before.key, key))
            if same is not None:
                self.cp.add(start >= self.start[before.key, key] + before.quarters).only_enforce_if(
                    here, same
                )
            apart = [here] if same is None else [here, same.negated()]
            if done_by:
                self.cp.add(start >= worker.until[0]).only_enforce_if(apart)
            for day, one in enumerate(done_by[:-1]):
                if worker.until[day + 1] > worker.until[day]:
                    self.cp.add(start >= worker.until[day + 1]).only_enforce_if(
                        *apart, one.negated()
                    )
            if done_by:
                self.cp.add_bool_or(done_by[-1], *[one.negated() for one in apart])

    def _made_done_by(self, job: Job) -> list[Any]:
        people = [worker for worker in self.able[job.key] if (job.key, worker.key) in self.at]
        found: list[Any] = []
        for day in range(self.problem.days):
            # On a day on which nobody works nothing becomes done.
            if found and not any(worker.quarters[day] for worker in people):
                found.append(found[-1])
                continue
            one = self.cp.new_bool_var("")
            if found:
                self.cp.add_implication(found[-1], one)
            for worker in people:
                here, most = self.at[job.key, worker.key], worker.until[day] - job.quarters
                if most < 0:
                    self.cp.add_bool_or(here.negated(), one.negated())
                elif most < worker.in_all - job.quarters:
                    self.cp.add(self.start[job.key, worker.key] <= most).only_enforce_if(here, one)
            if job.key in self.out:
                self.cp.add_implication(self.out[job.key], one.negated())
            found.append(one)
        return found

    def _done_day(self, job: Job) -> Any:
        return sum(1 - one for one in self.done_by(job))

    def _be_on_time(self, job: Job, worker: Worker, is_on_time: Any) -> None:
        assert job.last_day is not None
        self.cp.add(
            self.start[job.key, worker.key] <= worker.until[job.last_day] - job.quarters
        ).only_enforce_if(is_on_time)

    def _switches_of(self, worker: Worker) -> Any:
        """A way through all that one person does, from a beginning back to it."""
        jobs = [job for job in self.jobs if (job.key, worker.key) in self.at]
        if len(jobs) < 2:
            return 0
        arcs, costs = [], []
        nothing = self.cp.new_bool_var("")
        arcs.append((0, 0, nothing))
        for number, job in enumerate(jobs, 1):
            here = self.at[job.key, worker.key]
            self.cp.add_implication(nothing, here.negated())
            arcs.append((number, number, here.negated()))
            arcs.append((0, number, self.cp.new_bool_var("")))
            arcs.append((number, 0, self.cp.new_bool_var("")))
            for next_number, other in enumerate(jobs, 1):
                if other is job or other.key in job.after:
                    continue
                arc = self.cp.new_bool_var("")
                arcs.append((number, next_number, arc))
                self.cp.add(
                    self.start[other.key, worker.key]
                    >= self.start[job.key, worker.key] + job.quarters
                ).only_enforce_if(arc)
                costs.append(switch(job, other) * arc)
        self.cp.add_circuit(arcs)
        return sum(costs)

    def _orders(self, solver: cp_model.CpSolver) -> Orders:
        lines: dict[str, list[tuple[int, str]]] = {
            worker.key: [] for worker in self.problem.workers
        }
        for (key, worker), at in self.at.items():
            if solver.value(at):
                lines[worker].append((solver.value(self.start[key, worker]), key))
        return {key: tuple(name for _, name in sorted(line)) for key, line in lines.items()}


def on_time(
    cp: cp_model.CpModel,
    problem: Problem,
    jobs: Iterable[Job],
    able_for: dict[str, list[Worker]],
    at: dict[tuple[str, str], Any],
    be_on_time: Any = None,
) -> dict[str, Any]:
    """For each piece of work that may be late, 1 if it is, as an expression.

    What is on time at one person by some day fits into that person's hours until then, whatever
    its order: without pins and waiting no more is needed.
    """
    late: dict[str, Any] = {}
    until: dict[str, dict[int, list[Any]]] = {worker.key: {} for worker in problem.workers}
    for job in jobs:
        last = job.last_day
        if last is None or last >= problem.days:
            continue
        ways = []
        for worker in able_for[job.key]:
            if last < 0 or worker.until[last] < job.quarters or (job.key, worker.key) not in at:
                continue
            one = cp.new_bool_var("")
            cp.add_implication(one, at[job.key, worker.key])
            if be_on_time is not None:
                be_on_time(job, worker, one)
            ways.append(one)
            until[worker.key].setdefault(last, []).append(job.quarters * one)
        cp.add_at_most_one(ways)
        late[job.key] = 1 - sum(ways)
    for worker in problem.workers:
        parts: list[Any] = []
        for last, more in sorted(until[worker.key].items()):
            parts += more
            cp.add(sum(parts) <= worker.until[last])
    return late


def search(cp: cp_model.CpModel, effort: Effort, orders_of: Any) -> Answer:
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = WORKERS
    solver.parameters.random_seed = SEED
    solver.parameters.max_deterministic_time = effort.work
    solver.parameters.max_time_in_seconds = effort.seconds
    began = time.monotonic()
    status = solver.solve(cp)
    is_found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    is_proven = status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
    return Answer(
        orders=orders_of(solver) if is_found else None,
        bound=solver.best_objective_bound,
        is_proven=is_proven,
        is_impossible=status == cp_model.INFEASIBLE,
        was_cut=not is_proven and time.monotonic() - began >= effort.seconds,
    )
