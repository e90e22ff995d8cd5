"""Every check of the project, in one place: what ``manage.py test`` runs."""

import subprocess

from survey import bootstrap

BIN = bootstrap.VENV / "bin"

# On all cores; one that is done takes over from the others, for tests differ a hundredfold.
SPREAD = ["--numprocesses", "auto", "--dist", "worksteal"]

# What depends on how a database locks, commits and compares.
ON_POSTGRESQL = [
    "tests/access",
    "tests/sync",
    "tests/catalogue",
    "tests/examination",
    "tests/reading/test_asking.py",
    "tests/reading/test_placement.py",
    "tests/reading/test_running.py",
    "tests/reading/test_worker.py",
    "tests/loans/test_arranging.py",
    "tests/loans/test_backup.py",
    "tests/loans/test_exposure.py",
    "tests/loans/test_points.py",
    "tests/loans/test_services.py",
    "tests/treatment",
    "tests/triage/test_waiting_at_once.py",
    "tests/collection",
    "tests/reports/test_running.py",
    "tests/faults/protocol",
]


def steps(pytest_arguments: list[str]) -> list[tuple[str, list[str]]]:
    """The checks as (name, command), quick ones first, the tests themselves last."""
    python = str(bootstrap.PYTHON)
    manage = [python, str(bootstrap.ROOT / "manage.py")]
    node = str(BIN / "node")
    frontend = bootstrap.FRONTEND
    unit_tests = sorted(str(path) for path in (bootstrap.ROOT / "tests/frontend").glob("*.mjs"))
    return [
        ("Style", [str(BIN / "ruff"), "check", "--quiet", "."]),
        ("Layout", [str(BIN / "ruff"), "format", "--check", "--quiet", "."]),
        ("Types", [str(BIN / "mypy")]),
        ("Arrows between rooms", [str(BIN / "lint-imports")]),
        ("Migrations", [*manage, "makemigrations", "--check", "--dry-run"]),
        (
            "Interface description",
            [*manage, "spectacular", "--validate", "--fail-on-warn", "--file", "/dev/null"],
        ),
        (
            "Types of the tablet app",
            [node, str(frontend / "node_modules/typescript/bin/tsc"), "--project", str(frontend)],
        ),
        ("Unit tests of the tablet app", [node, "--test", *unit_tests]),
        (
            "Tests on PostgreSQL",
            [
                python,
                "-m",
                "tests.postgres",
                python,
                "-m",
                "pytest",
                *SPREAD,
                *ON_POSTGRESQL,
            ],
        ),
        (
            "Tests",
            [python, "-m", "pytest", *(pytest_arguments or SPREAD)],
        ),
    ]


def run(pytest_arguments: list[str]) -> int:
    """Run every check; all of them, so that one run tells all that is wrong.

    With arguments, only pytest runs, with those arguments.
    """
    chosen = steps(pytest_arguments)
    if pytest_arguments:
        chosen = chosen[-1:]
    failed = []
    for name, command in chosen:
        bootstrap.say(f"\n— {name}")
        if subprocess.run(command, cwd=bootstrap.ROOT).returncode:
            failed.append(name)
    if failed:
        bootstrap.say(f"\nNot in order: {', '.join(failed)}.")
        return 1
    return 0
