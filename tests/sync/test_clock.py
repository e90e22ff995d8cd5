"""The hybrid logical clock, and the server's own."""

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from survey.sync import log
from survey.sync.clock import TOLERATED_AHEAD_MS, Stamp, is_too_far_ahead, next_ticks

stamps = st.builds(
    Stamp,
    ms=st.integers(0, 10**13 - 1),
    counter=st.integers(0, 2**16 - 1),
    node=st.from_regex(r"[0-9a-z][0-9a-z-]{0,35}", fullmatch=True),
)


@given(stamps)
def test_a_stamp_is_read_back_as_it_was_written(stamp: Stamp) -> None:
    assert Stamp.parse(str(stamp)) == stamp
    assert Stamp.from_ticks(stamp.ticks, stamp.node) == stamp


@given(stamps, stamps)
def test_string_order_is_time_order(one: Stamp, other: Stamp) -> None:
    assert (str(one) < str(other)) == (one < other)


@given(st.integers(0, 2**57), st.integers(0, 10**13 - 1))
def test_the_next_moment_is_later_and_never_behind_the_wall_clock(latest: int, now: int) -> None:
    stamp = Stamp.from_ticks(next_ticks(latest, now), "server")
    assert stamp.ticks > latest
    assert stamp.ms >= now


def test_more_events_than_the_counter_holds_run_into_the_next_millisecond() -> None:
    full = Stamp(1000, 2**16 - 1, "server")
    assert Stamp.from_ticks(next_ticks(full.ticks, 1000), "server") == Stamp(1001, 0, "server")


@pytest.mark.parametrize(
    "text",
    ["", "12-0000-a", "1700000000000-00000-a", "1700000000000-00AB-a", "1700000000000-0000-",
     "1700000000000-0000-a\n", "١٧٠٠٠٠٠٠٠٠٠٠٠-0000-a", "1700000000000-0000-" + "a" * 37],
)  # fmt: skip
def test_it_refuses_what_is_not_a_stamp(text: str) -> None:
    with pytest.raises(ValueError, match="not a time of this clock"):
        Stamp.parse(text)


def test_five_minutes_ahead_are_tolerated() -> None:
    now = 1_700_000_000_000
    assert not is_too_far_ahead(Stamp(now + TOLERATED_AHEAD_MS, 0, "a"), now)
    assert is_too_far_ahead(Stamp(now + TOLERATED_AHEAD_MS + 1, 0, "a"), now)


@pytest.mark.django_db
def test_the_servers_clock_moves_past_what_it_heard_and_keeps_it() -> None:
    ahead = Stamp(log.wall_clock_ms() + 60_000, 7, "tablet")
    assert log.tick(heard=ahead) > ahead
    assert log.tick() > ahead
    assert log.tick().node == "server"


@pytest.mark.django_db
def test_the_servers_clock_rises_when_the_wall_clock_stands(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    noon = int(datetime(2031, 5, 1, 12, tzinfo=UTC).timestamp() * 1000)
    monkeypatch.setattr(log, "wall_clock_ms", lambda: noon)
    ticks = [log.tick() for _ in range(5)]
    assert ticks == sorted(set(ticks))
    assert {stamp.ms for stamp in ticks} == {noon}
