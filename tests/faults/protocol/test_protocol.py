"""The protocol under random faults: that all promises hold, and that the machine would tell.

Short by default. ``FIELDLEAF_FAULTS=long`` runs at least 20,000 steps, drawn anew each time,
and prints what it did:

    FIELDLEAF_FAULTS=long python manage.py test -s tests/faults/protocol -k every_promise
"""

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from hypothesis import HealthCheck, Phase, settings
from hypothesis.errors import FlakyFailure
from hypothesis.stateful import run_state_machine_as_test

from tests.faults.protocol.faults import SEEDED, sequence_gap
from tests.faults.protocol.ledger import ProtocolBroken
from tests.faults.protocol.machine import Protocol, World
from tests.faults.protocol.museum import Museum, own_database

pytestmark = pytest.mark.django_db(transaction=True)

IS_LONG = os.environ.get("FIELDLEAF_FAULTS") == "long"
LONG_STEPS = 20_000

COMMON = settings(
    database=None,
    deadline=None,
    suppress_health_check=list(HealthCheck),
    print_blob=False,
    report_multiple_bugs=False,
    phases=[Phase.generate],
)
# The same draws each time, so that a change is judged by what it changed.
SHORT = settings(COMMON, derandomize=True, max_examples=12, stateful_step_count=60)
# Others each time, whatever other tests draw: a second round of the same would prove nothing.
LONG = settings(COMMON, derandomize=False, max_examples=50, stateful_step_count=120)
SEARCH = settings(COMMON, derandomize=True, max_examples=60, stateful_step_count=60)


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    with own_database(tmp_path):
        world = World(Museum())
        with world.museum.running():
            yield world
        world.tablets.close()


def drive(world: World, how: settings) -> None:
    """Run the machine. Raises what it found, though it may not come twice: moments differ."""
    machine = type("Machine", (Protocol,), {"world": world})
    try:
        run_state_machine_as_test(machine, settings=how)
    except FlakyFailure as flaky:
        broken, _ = flaky.split(ProtocolBroken)
        raise broken.exceptions[0] if broken else flaky from flaky


def test_every_promise_holds(world: World) -> None:
    try:
        drive(world, SHORT)
        while IS_LONG and world.tally.steps.total() < LONG_STEPS:
            drive(world, LONG)
    finally:
        print(f"\nOn {connection.vendor}: {world.tally}")


@pytest.mark.parametrize("fault", SEEDED, ids=lambda fault: fault.__name__)
def test_it_finds_a_fault_that_is_put_back_in(world: World, fault: Callable[[], Any]) -> None:
    if connection.vendor == "postgresql" and fault is not sequence_gap:
        pytest.skip("Found on SQLite; nothing in it depends on the database.")
    with fault() as patches, pytest.raises(ProtocolBroken) as found:
        world.patches = patches
        world.asks_the_server_too = False  # The promises alone have to tell.
        drive(world, SEARCH)
    print(f"\n{fault.__name__}: found in {world.tally.steps.total()} steps: {found.value.promise}")
    assert found.value.promise in SEEDED[fault]
