"""Random weeks, small and large, always the same for the same seed."""

import random
from datetime import date

from survey.triage.plan.problem import Job, Pin, Problem, Worker, quarters_of

MONDAY = date(2026, 5, 4)
KINDS = ("treat", "mount-and-frame", "rehouse", "stabilise")


def job(key: str, hours: float = 1, **values: object) -> Job:
    """A piece of work that takes as long as it is likely to."""
    fields: dict[str, object] = {"skill": "treat", "name": key.upper()} | values
    return Job(key=key, low=hours, likely=hours, high=hours, **fields)  # type: ignore[arg-type]


def worker(key: str, *hours: float, skills: tuple[str, ...] = ("treat",)) -> Worker:
    return Worker(key, key.capitalize(), frozenset(skills), tuple(map(quarters_of, hours)))


def problem(jobs: list[Job], *workers: Worker) -> Problem:
    return Problem(MONDAY, tuple(jobs), workers)


def small(seed: int) -> Problem:
    """Up to five pieces of work for up to two people in some days of few hours."""
    draw = random.Random(seed)
    days = draw.randint(3, 7)
    people = draw.randint(1, 2)
    skills = KINDS[: draw.randint(1, 2)]
    workers = tuple(
        Worker(
            f"w{number}",
            f"W{number}",
            frozenset(draw.sample(skills, draw.randint(1, len(skills)))),
            tuple(draw.choice((0, 1, 2, 4)) for _ in range(days)),
        )
        for number in range(people)
    )
    number = draw.randint(2, 5 if people == 1 else 4)
    jobs: list[Job] = []
    for place in range(number):
        hours = draw.randint(1, 5) / 4
        skill = draw.choice(skills)
        pin = None
        if draw.random() < 0.12:
            one = draw.choice(workers)
            open_days = [day for day, quarters in enumerate(one.quarters) if quarters]
            if open_days and skill in one.skills:
                pin = Pin(one.key, draw.choice(open_days))
        whose = draw.choice(workers).key if pin is None and draw.random() < 0.1 else ""
        due = draw.randint(0, days + 1) if draw.random() < 0.7 else None
        jobs.append(
            job(
                f"j{place}",
                hours,
                skill=skill,
                weight=draw.randint(1, 4),
                is_hazard=draw.random() < 0.2,
                due=due,
                setting_days=draw.choice((0, 0, 1, 2)) if due is not None else 0,
                after=tuple(f"j{one}" for one in range(place) if draw.random() < 0.15),
                pin=pin,
                whose=whose,
                project=draw.choice(("", "", "a", "b")),
                not_before=draw.randint(1, days) if pin is None and draw.random() < 0.2 else 0,
            )
        )
    return Problem(MONDAY, tuple(jobs), workers)


def large(
    seed: int,
    jobs: int = 200,
    people: int = 8,
    weeks: int = 6,
    load: float = 1.0,
    dated: float = 0.4,
) -> Problem:
    """A department: people with some skills each and an absence; work that takes about all their
    hours times ``load``, the share ``dated`` of it with a date, some hazards, some that waits."""
    draw = random.Random(seed)
    skills = tuple(f"{studio}: {kind}" for studio in ("paper", "photographs") for kind in KINDS)
    shown = weeks * 7
    days = shown + 84
    workers = []
    for number in range(people):
        able = set(draw.sample(skills, 3)) | {skills[number % len(skills)]}
        away = draw.randrange(shown)
        hours = draw.choice((6, 6, 7, 4))
        workers.append(
            Worker(
                f"w{number}",
                f"Person {number + 1}",
                frozenset(able),
                tuple(
                    0 if day % 7 > 4 or away <= day < away + 5 else hours * 4 for day in range(days)
                ),
            )
        )
    there = sum(worker.until[shown - 1] for worker in workers) / 4
    mean = load * there / jobs
    projects = [(f"project {number}", draw.randint(10, shown - 1)) for number in range(6)]
    made: list[Job] = []
    for place in range(jobs):
        likely = max(0.5, round(draw.triangular(0.2, 2.4, 0.6) * mean * 2) / 2)
        name, due = draw.choice(projects)
        is_dated = draw.random() < dated
        setting = draw.choice((0, 0, 2, 5)) if is_dated else 0
        made.append(
            Job(
                key=f"j{place:03d}",
                name=f"PE.1987.{place}, work",
                skill=draw.choice(skills),
                low=likely * 0.75,
                likely=likely,
                high=likely * 1.75,
                weight=draw.randint(500, 1500),
                is_hazard=draw.random() < 0.06,
                due=due if is_dated else None,
                setting_days=setting,
                after=(f"j{draw.randrange(place):03d}",) if place and draw.random() < 0.08 else (),
                project=name if is_dated else "",
            )
        )
    return Problem(MONDAY, tuple(made), tuple(workers))
