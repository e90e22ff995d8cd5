"""A plan that grows by single pieces of work, and how much better each step makes it.

The same measure as in ``measure.py``, reckoned anew only where a step changes something.
"""

from bisect import bisect_left
from collections.abc import Iterator

from survey.triage.plan.measure import (
    Measure,
    Orders,
    measure_of_line,
    timed,
    total,
)
from survey.triage.plan.problem import Job, Problem, Worker, able

Line = tuple[str, ...]
# The day on which each piece of work is done.
Done = dict[str, int]
Found = tuple[dict[str, Measure], Done]
State = tuple[dict[str, Line], dict[str, str], dict[str, Measure], Done]


class Draft:
    """It can always be kept as it stands."""

    def __init__(self, problem: Problem, orders: Orders | None = None) -> None:
        """Raises ValueError when the orders cannot be kept."""
        self.problem = problem
        self.workers = {worker.key: worker for worker in problem.workers}
        self.able = {job.key: able(problem, job) for job in problem.placeable}
        self.followers: dict[str, list[str]] = {}
        for job in problem.jobs:
            for key in job.after:
                self.followers.setdefault(key, []).append(job.key)
        self.wanted = dict(problem.wanted)
        self.lines: dict[str, Line] = {key: () for key in self.workers}
        self.home: dict[str, str] = {}
        self.parts = {key: total([]) for key in self.workers}
        self.done: Done = {}
        if orders is not None:
            self.lines |= {key: tuple(line) for key, line in orders.items()}
            self._take(self._whole(self.lines), self.lines)

    @property
    def measure(self) -> Measure:
        """Of what is in it, without what is yet to come."""
        return total(self.parts.values())

    @property
    def state(self) -> State:
        """To come back to."""
        return self.lines, self.home, self.parts, self.done

    @state.setter
    def state(self, state: State) -> None:
        self.lines, self.home, self.parts, self.done = state

    def can_follow(self, job: Job) -> bool:
        """Whether all that it waits for is in the plan."""
        return all(key in self.home for key in job.after)

    def prefer(self, job: Job, key: str | None) -> None:
        """Let only this person be thought of for it, if they can do it; None leaves it open."""
        self.able[job.key] = [
            worker for worker in self.able[job.key] if key in (None, worker.key)
        ] or self.able[job.key]

    def tried(self, key: str, line: Line) -> Measure | None:
        """The measure if one person's work were this; None when that cannot be kept."""
        found = self._found(key, line)
        return None if found is None else total(found[0].values())

    def tried_days(self, key: str, line: Line) -> tuple[Measure, int, int] | None:
        """As ``tried``, with the day on which this person is through, and the sum of the days on
        which their work is done."""
        found = self._found(key, line)
        if found is None:
            return None
        days = [found[1][name] for name in line]
        return total(found[0].values()), max(days, default=0), sum(days)

    def set(self, key: str, line: Line) -> None:
        """Raises ValueError when that cannot be kept."""
        self._take(self._found(key, line), self.lines | {key: line})

    def with_job(self, job: Job) -> Iterator[tuple[Worker, int, Line]]:
        """The lines of all who can do it, with it put in at each place."""
        for worker in self.able[job.key]:
            line = self.lines[worker.key]
            for at in range(len(line) + 1):
                yield worker, at, (*line[:at], job.key, *line[at:])

    def _take(self, found: Found | None, lines: dict[str, Line]) -> None:
        if found is None:
            raise ValueError("These orders cannot be kept.")
        self.parts, self.done = found
        self.lines = lines
        self.home = {one: key for key, line in lines.items() for one in line}

    def _found(self, key: str, line: Line) -> Found | None:
        """What each person's work adds and when all is done, if one line were this.

        Goes from line to line as far as the change reaches.
        """
        parts, done = dict(self.parts), dict(self.done)
        reached = [key]
        for gone in set(self.lines[key]).difference(line):
            del done[gone]
            reached += self._whose(gone, key)
        while reached:
            one = reached.pop()
            found = self._alone(one, line if one == key else self.lines[one], done, key)
            if found is None:
                return None
            parts[one], days = found
            for name, day in days.items():
                if done.get(name) != day:
                    done[name] = day
                    reached += [
                        other
                        for other in self._whose(name, key)
                        if other != one and other not in reached
                    ]
        return parts, done

    def _whose(self, name: str, key: str) -> list[str]:
        """Who does what waits for it; ``key`` does what is yet to be put in."""
        followers = self.followers.get(name)
        return [self.home.get(other, key) for other in followers] if followers else []

    def _whole(self, lines: dict[str, Line]) -> Found | None:
        placed = timed(self.problem, lines)
        if placed is None:
            return None
        parts = {key: measure_of_line(self.problem, line, placed) for key, line in lines.items()}
        return parts, {key: one.done for key, one in placed.items()}

    def _alone(
        self, key: str, line: Line, others: Done, changed: str
    ) -> tuple[Measure, Done] | None:
        """One line by itself, all others being done as they are: see ``measure.timed``."""
        worker = self.workers[key]
        until, jobs, costs = worker.until, self.problem.by_key, self.problem.late_costs
        done: Done = {}
        at = late = hazards = days_late = switches = 0
        before: Job | None = None
        for name in line:
            job = jobs[name]
            for other in job.after:
                if other in done:
                    continue
                if other not in others or self.home.get(other, changed) == key:
                    return None
                at = max(at, until[others[other]])
            if job.not_before:
                at = max(at, worker.before(job.not_before))
            if job.pin is not None:
                at = max(at, worker.before(job.pin.day))
                if job.pin.worker != key or at >= until[job.pin.day]:
                    return None
            at += job.quarters
            if at > worker.in_all:
                return None
            day = done[name] = bisect_left(until, at)
            if job.is_hazard:
                hazards += day + 1
            last = job.last_day
            if last is not None and day > last:
                late += costs[name]
                days_late += job.weight * (day - last)
            if before is not None:
                switches += (before.skill != job.skill) + (before.project != job.project)
            before = job
        return Measure(late, 0, hazards, days_late, switches), done
