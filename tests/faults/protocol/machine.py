"""Tablets, a server and a network between them, driven at random and held to their promises.

Model-based testing with Hypothesis' RuleBasedStateMachine (hypothesis.readthedocs.io, “Stateful
testing”); the method goes back to Claessen and Hughes, "QuickCheck: a lightweight tool for
random testing of Haskell programs" (ICFP 2000), and "Testing monadic code with QuickCheck"
(Haskell Workshop 2002; both from memory). The tablets run the app's own modules and the
server is the whole WSGI application: only the network and the clocks are made here.
"""

import base64
import threading
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any
from unittest import mock

from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, rule

from survey.access.models import Device
from survey.sync import conflict, log, services
from survey.sync.care import records
from survey.sync.models import Change, OpenQuestion
from tests.factories import PASSWORD
from tests.faults.protocol import promises
from tests.faults.protocol.ledger import DESK, PUSH, Ledger, ProtocolBroken, State, Tally
from tests.faults.protocol.museum import Museum
from tests.faults.protocol.pictures import PICTURES
from tests.faults.protocol.tablets import Answer, Flight, TabletFailed, Tablets

NAMES = "ABCD"
STEP_MS = 1000
DAY_MS = 24 * 60 * 60 * 1000
# Right, some seconds or minutes out, more than the tolerated five minutes, and days.
CLOCKS_OUT_MS = [0, 0, 0, 2500, -4000, 4 * 60_000, 6 * 60_000, 3 * DAY_MS, -3 * DAY_MS]
WORDS_IN = {
    "visit": ["name", "note"],
    "examination": ["notes", "mount", "place"],
    "photograph": ["caption"],
    "observation": ["note"],
    "measurement": ["what"],
    "recommendation": ["note"],
    "watermark": ["motif", "letters"],
    "stop": ["missing"],
}
# Made at the desk, which alone takes them back.
NOT_DELETED_ON_TABLETS = ("stop",)
PORTAL = Answer(
    200, {"Content-Type": "text/html"}, b"<html>Accept the terms of this network</html>"
)
# Sign-in alone is never replayed: it is the one request that travels in a session of its own.
NOT_REPLAYED = "/api/sign-in"


@dataclass
class Tablet:
    name: str
    clock_out_ms: int = 0
    jobs: dict[int, str] = field(default_factory=dict)
    # What stood in the way of the last sync, in the app's own words.
    problem: str | None = None
    state: State = field(default_factory=dict)
    # Records that the step now under way takes back by the person's own wish.
    dropped: set[str] = field(default_factory=set)


@dataclass
class World:
    """What outlives an example: the two processes, and the counts."""

    museum: Museum
    tally: Tally = field(default_factory=Tally)
    patches: list[dict[str, str]] = field(default_factory=list)
    tablets: Tablets = field(default_factory=Tablets)
    examples: int = 0
    # Whether, beside the promises, the server's own check of itself has to find nothing.
    asks_the_server_too: bool = True
    # Of all tablets together: no two lives share their modules.
    lives: int = 0

    # Modules once loaded are never let go of by Node, so the process starts anew now and then.
    EXAMPLES_A_PROCESS = 40

    def fresh_tablets(self) -> Tablets:
        self.examples += 1
        if self.examples % self.EXAMPLES_A_PROCESS == 0:
            self.tablets.close()
            self.tablets = Tablets()
        self.tablets.forget_all()
        return self.tablets


@dataclass(frozen=True)
class Deed:
    """One kind of step. Hypothesis draws what it is given; ``name`` is always an open tablet."""

    do: Callable[..., None]
    drawn: dict[str, st.SearchStrategy[Any]]
    weight: int
    is_possible: "Callable[[Protocol], Any]"


DEEDS: dict[str, Deed] = {}


def step(
    weight: int = 1, *, when: "Callable[[Protocol], Any]" = lambda machine: True, **drawn: Any
) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """A deed that is drawn so many times as often as others, and done only when it can be."""

    def kept(deed: Callable[..., None]) -> Callable[..., None]:
        DEEDS[deed.__name__] = Deed(deed, drawn, weight, when)
        return deed

    return kept


some = st.integers(0, 2**16)
a_tablet = st.deferred(lambda: st.nothing())  # Stands for one that is open in the example.
# Lost: it never arrives, or its answer does not. Cut: only its first bytes arrive. A cut answer
# comes with status 200 all the same. Portal: something else answers in the server's place.
BREAKS = ["request lost", "request cut", "answer lost", "answer cut", "portal"]
ASKED_IN_A_SYNC = [
    ("POST", PUSH),
    ("GET", "/api/sync/pull"),
    ("POST", "/api/sync/stored"),
    ("POST", "/api/uploads/"),
    ("PATCH", "/api/uploads/"),
]
a_break = st.sampled_from(BREAKS)
fractions = st.floats(0, 1, exclude_max=True, allow_subnormal=False)


class Protocol(RuleBasedStateMachine):
    world: World

    def __init__(self) -> None:
        super().__init__()
        self.museum = self.world.museum
        self.museum.reset()
        self.host = self.world.fresh_tablets()
        self.host.clock = self.clock
        self.ledger = Ledger(self.world.tally)
        self.tablets: dict[str, Tablet] = {}
        self.devices: dict[str, str] = {}
        self.signed: dict[str, Any] = {}
        self.touched: set[str] = set()
        self.is_server_touched = False
        self.view = promises.View()
        self.is_broken = True  # Until it has begun.

    @initialize(count=st.integers(2, 4))
    def begin(self, count: int) -> None:
        self.world.tally.counts["examples"] += 1
        for place, name in enumerate(NAMES[:count]):
            tablet = self.tablets[name] = Tablet(name)
            self.open(tablet)
            person = self.museum.people[place % len(self.museum.people)]
            given = {"username": person.username, "password": PASSWORD, "device_name": name}
            self.through(tablet, self.ask(tablet, "signIn", given=given))
            self.through(tablet, self.ask(tablet, "sync"))
        for device in Device.objects.all():
            self.devices[str(device.pk)] = device.name
        self.look_at_all()
        self.is_broken = False

    @rule(data=st.data())
    def goes_on(self, data: st.DataObject) -> None:
        """One step: a deed, a moment passing, and all the checks."""
        # What is drawn must not depend on what is possible just now, since that can depend on
        # how fast the machine is: Hypothesis would find the draws of two runs at odds.
        name = data.draw(st.sampled_from(BY_WEIGHT))
        deed = DEEDS[name]
        given = {
            key: data.draw(st.sampled_from(sorted(self.tablets)) if of is a_tablet else of, key)
            for key, of in deed.drawn.items()
        }
        if not deed.is_possible(self):
            return
        self.museum.now_ms += STEP_MS
        self.is_broken = True
        deed.do(self, **given)
        # A step that found nothing to do is none.
        if self.touched or self.is_server_touched:
            self.world.tally.steps[name] += 1
        self.check()
        self.is_broken = False

    # What a person does on a tablet

    @step(name=a_tablet)
    def makes_a_visit(self, name: str) -> None:
        self.make(name, "visit", {"purpose": "storage-round"}, "name")

    @step(2, name=a_tablet, which=some, of=some)
    def examines(self, name: str, which: int, of: int) -> None:
        visit = self.one_of(self.rows(name, "visit"), which)
        item = self.one_of(self.rows(name, "object"), of)
        if visit and item:
            self.make(name, "examination", {"visit": visit["id"], "object": item["id"]}, "notes")

    @step(
        name=a_tablet,
        which=some,
        kind=st.sampled_from(["observation"] * 2 + ["measurement", "recommendation", "watermark"]),
    )
    def notes_a_part(self, name: str, which: int, kind: str) -> None:
        examination = self.one_of(self.rows(name, "examination"), which)
        if examination:
            first = {
                "observation": {"term": "tear"},
                "measurement": {"value": 12.0, "uncertainty": 0.5},
                "recommendation": {"kind_of_work": "treat"},
                "watermark": {"kind": "watermark"},
            }[kind]
            self.make(name, kind, {"examination": examination["id"], **first}, WORDS_IN[kind][0])

    @step(3, name=a_tablet, which=some, content=st.integers(0, len(PICTURES) - 1))
    def photographs(self, name: str, which: int, content: int) -> None:
        examination = self.one_of(self.rows(name, "examination"), which)
        if examination:
            shot = {"examination": examination["id"], "light": "normal", "side": "recto"}
            bytes_ = base64.b64encode(PICTURES[content]).decode()
            self.try_to(name, "photograph", shot=shot, content=bytes_)

    @step(name=a_tablet, which=some, to=some)
    def moves_an_object(self, name: str, which: int, to: int) -> None:
        item = self.one_of(self.rows(name, "object"), which)
        if item:
            places: list[dict[str, Any]] = [{"to_place": "Conservation studio"}]
            places += [{"to_location": str(room.pk)} for room in self.museum.rooms]
            self.make(name, "move", {"object": item["id"], **places[to % len(places)]}, "note")

    @step(5, name=a_tablet, which=some, place=some)
    def writes(self, name: str, which: int, place: int) -> None:
        entity, row = self.one_of(self.worded(name), which) or (None, None)
        if entity and row:
            fields = WORDS_IN[entity]
            text, into = self.ledger.new_text(), fields[place % len(fields)]
            if self.try_to(name, "save", entity=entity, key=row["id"], fields={into: text}):
                self.ledger.say(text, name, row["id"], into)

    @step(2, name=a_tablet, which=some)
    def deletes(self, name: str, which: int) -> None:
        rows = [each for each in self.worded(name) if each[0] not in NOT_DELETED_ON_TABLETS]
        entity, row = self.one_of(rows, which) or (None, None)
        if entity and row:
            self.tablets[name].dropped.add(row["id"])
            if self.try_to(name, "remove", entity=entity, key=row["id"]):
                self.ledger.delete(name, row["id"])

    @step(2, name=a_tablet, which=some, nothing_seen=st.booleans())
    def signs(self, name: str, which: int, nothing_seen: bool) -> None:
        examination = self.one_of(self.rows(name, "examination"), which)
        if examination:
            fields = {
                "signed_at": datetime.fromtimestamp(self.clock(name) / 1000, UTC).isoformat(),
                "signed_name": "Wren Vale",
                **({"nothing_seen": True} if nothing_seen else {}),
            }
            self.try_to(name, "save", entity="examination", key=examination["id"], fields=fields)

    @step(name=a_tablet, which=some)
    def amends(self, name: str, which: int) -> None:
        examination = self.one_of(self.rows(name, "examination"), which)
        if examination:
            first = {"examination": examination["id"], "signed_name": "Wren Vale"}
            self.make(name, "amendment", first, "reason")

    @step(when=lambda machine: machine.refused(), name=a_tablet)
    def sends_refused_again(self, name: str) -> None:
        self.try_to(name, "retryRefused")

    @step(when=lambda machine: machine.refused(), name=a_tablet, which=some)
    def gives_a_refused_change_up(self, name: str, which: int) -> None:
        refused = [each for each in self.outbox(name) if each["state"] == "refused"]
        change = self.one_of(refused, which)
        if change:
            self.tablets[name].dropped.add(change["entity_id"])
            self.try_to(name, "discard", change=change["id"])

    @step(when=lambda machine: machine.holds("originals"), name=a_tablet)
    def frees_space(self, name: str) -> None:
        self.try_to(name, "freeSent")

    # The network

    @step(4, name=a_tablet)
    def syncs(self, name: str) -> None:
        self.through_all(self.tablets[name])
        self.through(self.tablets[name], self.ask(self.tablets[name], "sync"))

    @step(3, name=a_tablet)
    def begins_to_sync(self, name: str) -> None:
        if "sync" not in self.tablets[name].jobs.values():
            self.ask(self.tablets[name], "sync")

    @step(name=a_tablet, chosen=st.sets(st.integers(0, 1)))
    def asks_for_other_places(self, name: str, chosen: set[int]) -> None:
        locations = [str(self.museum.rooms[place].pk) for place in sorted(chosen)]
        self.ask(self.tablets[name], "carry", locations=locations)

    @step(3, when=lambda machine: machine.host.flights, which=some)
    def a_request_arrives(self, which: int) -> None:
        waiting = [flight for flight in self.host.flights if flight.answer is None]
        flight = self.one_of(waiting, which)
        if flight:
            flight.answer = self.serve(flight)

    @step(6, when=lambda machine: machine.host.flights, which=some)
    def an_answer_arrives(self, which: int) -> None:
        flight = self.one_of(self.host.flights, which)
        if flight:
            self.answer(flight)

    @step(2, when=lambda machine: machine.host.flights, which=some, how=a_break, share=fractions)
    def a_connection_breaks(self, which: int, how: str, share: float) -> None:
        flight = self.one_of(self.host.flights, which)
        if flight:
            self.spoil(flight, how, share)

    @step(6, name=a_tablet, at=st.sampled_from(ASKED_IN_A_SYNC), how=a_break, share=fractions)
    def a_sync_breaks_off(self, name: str, at: tuple[str, str], how: str, share: float) -> None:
        """All passes up to one kind of request; that one does not."""
        flight = self.advance(self.tablets[name], *at)
        if flight:
            self.spoil(flight, how, share)

    @step(2, when=lambda machine: machine.ledger.wire, which=some)
    def an_old_request_comes_again(self, which: int) -> None:
        self.count("requests replayed")
        flight = self.one_of(self.ledger.wire, which)
        assert flight
        self.serve(flight)

    @step(2, first=a_tablet, others=st.sets(st.sampled_from(NAMES), min_size=1))
    def several_at_once(self, first: str, others: set[str]) -> None:
        """One push is held open in its transaction while the others' requests arrive."""
        open_tablets = [self.tablets[name] for name in sorted(others) if name in self.tablets]
        ours = self.advance(self.tablets[first], "POST", PUSH)
        if ours is None:
            return
        theirs = [
            flight
            for tablet in open_tablets
            if tablet.name != first and (flight := self.advance(tablet, "GET", "/api/sync/pull"))
        ]
        if theirs:
            self.count("transactions at once", 1 + len(theirs))
            self.serve_at_once(ours, theirs)
            for flight in [ours, *theirs]:
                self.answer(flight)

    # Machines

    @step(name=a_tablet)
    def the_app_starts_again(self, name: str) -> None:
        self.open(self.tablets[name])

    @step()
    def the_server_starts_again(self) -> None:
        self.is_server_touched = True
        self.museum.restart()

    @step(when=lambda machine: machine.holds("originals"))
    def uploads_expire(self) -> None:
        self.is_server_touched = True
        self.museum.expire_uploads()

    @step(name=a_tablet, out=st.sampled_from(CLOCKS_OUT_MS))
    def a_clock_is_set(self, name: str, out: int) -> None:
        self.tablets[name].clock_out_ms = out
        self.touched.add(name)

    # The desk

    @step(2, which=some, place=some)
    def the_desk_writes(self, which: int, place: int) -> None:
        rows = [
            (name, row, data)
            for name, row, data in self.view.rows
            if data is not None and (name in WORDS_IN or name == "object")
        ]
        name, row, data = self.one_of(rows, which) or ("", None, None)
        if row is None or data is None:
            return
        fields = WORDS_IN.get(name, ["title"])
        into, text = fields[place % len(fields)], self.ledger.new_text()
        self.is_server_touched = True
        try:
            services.record_change(name, row, {into: text}, self.museum.people[0])
        except services.Refused:
            return
        self.ledger.say(text, DESK, str(row.pk), into, {data[into]})

    @step(
        2,
        when=lambda machine: any(
            each.outcome == Change.Outcome.QUESTION for each in machine.view.changes
        ),
        which=some,
        side=st.sampled_from(["shown", "kept", "third"]),
    )
    def the_desk_settles(self, which: int, side: str) -> None:
        open_questions = OpenQuestion.objects.filter(settled_at=None).order_by("id")
        question = self.one_of(open_questions, which)
        if question is None:
            return
        words = [
            conflict.value_of(each, question.field) for each in (question.shown, question.kept)
        ]
        value = words[side == "kept"]
        if side == "third" and question.field != promises.DELETED:
            value = self.ledger.new_text()
        self.is_server_touched = True
        try:
            services.settle(question, value, self.museum.people[0])
        except services.Refused:
            return
        self.count("questions settled")
        if value not in words:
            self.ledger.say(value, DESK, question.entity_id, question.field, set(words))

    @step(
        2,
        when=lambda machine: machine.holds("questions"),
        name=a_tablet,
        which=some,
        side=st.sampled_from(["shown", "kept", "third"]),
    )
    def settles(self, name: str, which: int, side: str) -> None:
        question = self.one_of(self.tablets[name].state["questions"], which)
        if question is None or (side == "third" and question["field"] == promises.DELETED):
            return
        answer = {"choice": side}
        if side == "third":
            answer = {"value": self.ledger.new_text()}
        given = {"question": question["id"], "choice": answer, "reason": "A second look."}
        if self.try_to(name, "settle", **given) and side == "third":
            self.ledger.say(answer["value"], name, question["entity_id"], question["field"])

    # How these things are done

    def open(self, tablet: Tablet) -> None:
        for flight in [each for each in self.host.flights if each.tablet == tablet.name]:
            self.host.flights.remove(flight)
        tablet.jobs.clear()
        self.world.lives += 1
        self.touched.add(tablet.name)
        self.host.do(
            tablet.name,
            "open",
            life=self.world.lives,
            patches=self.world.patches,
        )

    def clock(self, name: str) -> int:
        return self.museum.now_ms + self.tablets[name].clock_out_ms

    def make(self, name: str, entity: str, fields: dict[str, Any], into: str) -> None:
        text = self.ledger.new_text()
        key = self.try_to(name, "create", entity=entity, fields={**fields, into: text})
        if isinstance(key, str):
            self.ledger.say(text, name, key, into)

    def try_to(self, name: str, deed: str, **given: Any) -> Any:
        """Do it on a tablet; a falsy answer when the app refused with a good reason."""
        self.touched.add(name)
        try:
            return self.host.do(name, deed, **given) or True
        except TabletFailed as failure:
            if "is signed, so it stays as it is" not in str(failure):
                raise
            return False

    def ask(self, tablet: Tablet, deed: str, **given: Any) -> int:
        self.touched.add(tablet.name)
        job = self.host.begin(tablet.name, deed, **given)
        tablet.jobs[job] = deed
        self.note_jobs()
        return job

    def through(self, tablet: Tablet, job: int) -> None:
        """Let everything pass that the tablet asks, until the job is done."""
        while job in tablet.jobs:
            self.pass_one(tablet)

    def through_all(self, tablet: Tablet) -> None:
        while tablet.jobs:
            self.pass_one(tablet)

    def pass_one(self, tablet: Tablet) -> None:
        [flight, *_] = [each for each in self.host.flights if each.tablet == tablet.name]
        self.answer(flight)

    def advance(self, tablet: Tablet, method: str, path: str) -> Flight | None:
        """Let a sync pass until it asks for this path; None when it never does."""
        self.through_all(tablet)
        self.ask(tablet, "sync")
        while tablet.jobs:
            for flight in self.host.flights:
                is_its = flight.tablet == tablet.name and flight.method == method
                if is_its and flight.path.startswith(path):
                    return flight
            self.pass_one(tablet)
        return None

    def serve(self, flight: Flight, arrived: int | None = None) -> Answer:
        self.is_server_touched = True
        answer = self.museum.serve(flight, arrived)
        if answer.status >= 500:
            raise ProtocolBroken("the server does not fail", f"{flight} met {answer}")
        return answer

    def serve_at_once(self, ours: Flight, theirs: list[Flight]) -> None:
        self.is_server_touched = True
        gate = Gate()
        answers: dict[int, Answer] = {}

        def work(flight: Flight) -> None:
            answers[flight.number] = self.museum.serve_in_thread(flight)

        first = threading.Thread(target=gate.held, args=(work, ours))
        rest = [threading.Thread(target=work, args=(flight,)) for flight in theirs]
        with mock.patch.object(log, "tick", gate.watching(log.tick)):
            first.start()
            gate.wait()
            for thread in rest:
                thread.start()
            for thread in rest:
                thread.join(Gate.LONG_ENOUGH_S)
            gate.open()
            for thread in [first, *rest]:
                thread.join()
        for flight in [ours, *theirs]:
            flight.answer = answers[flight.number]
            if flight.answer.status >= 500:
                raise ProtocolBroken("the server does not fail", f"{flight}")

    def answer(self, flight: Flight) -> None:
        answer = flight.answer or self.serve(flight)
        self.touched.add(flight.tablet)
        self.host.answer(flight, answer)
        self.ledger.note_answer(flight, answer)
        self.note_jobs()

    def break_off(self, flight: Flight) -> None:
        self.touched.add(flight.tablet)
        self.host.break_off(flight)
        self.note_jobs()

    def spoil(self, flight: Flight, how: str, share: float) -> None:
        """Break one exchange off at some byte. See BREAKS."""
        self.count(f"exchanges that broke: {how}")
        if how == "request cut" and flight.answer is None:
            self.serve(flight, int(share * len(flight.body)))
        elif how.startswith("answer"):
            flight.answer = flight.answer or self.serve(flight)
        if how in ("request lost", "request cut", "answer lost"):
            self.break_off(flight)
            return
        answer = PORTAL
        if how == "answer cut" and flight.answer:
            whole = flight.answer
            cut = whole.body[: int(share * len(whole.body))]
            answer = Answer(whole.status, whole.headers, cut)
        self.touched.add(flight.tablet)
        self.host.answer(flight, answer)
        self.note_jobs()

    def note_jobs(self) -> None:
        """Take down what has ended, and what has been asked since."""
        for tablet in self.tablets.values():
            for job in [each for each in tablet.jobs if each in self.host.ended]:
                deed = tablet.jobs.pop(job)
                try:
                    tablet.problem = self.host.result(job)
                except TabletFailed as failure:
                    if failure.kind in ("Error", "TypeError") or deed == "sync":
                        raise
        known = {id(flight) for flight in self.ledger.wire}
        for flight in self.host.flights:
            if id(flight) not in known and flight.path != NOT_REPLAYED:
                self.ledger.note_request(flight)

    def rows(self, name: str, entity: str) -> list[dict[str, Any]]:
        rows: list[dict[str, Any]] = self.tablets[name].state["rows"][entity]
        return rows

    def outbox(self, name: str) -> list[dict[str, Any]]:
        changes: list[dict[str, Any]] = self.tablets[name].state["outbox"]
        return changes

    def refused(self) -> bool:
        lines = (self.outbox(name) for name in self.tablets)
        return any(change["state"] == "refused" for line in lines for change in line)

    def holds(self, table: str) -> bool:
        return any(tablet.state[table] for tablet in self.tablets.values() if tablet.state)

    def worded(self, name: str) -> list[tuple[str, dict[str, Any]]]:
        return [(entity, row) for entity in WORDS_IN for row in self.rows(name, entity)]

    @staticmethod
    def one_of(things: "Iterable[Any]", which: int) -> Any:
        listed = list(things)
        return listed[which % len(listed)] if listed else None

    def count(self, what: str, by: int = 1) -> None:
        self.world.tally.counts[what] += by

    # What is checked

    def check(self) -> None:
        if self.is_server_touched and self.view.is_old():
            self.view = promises.View()
            promises.check_server(self.view, self.ledger, self.devices, self.signed)
        for name in sorted(self.touched):
            self.look(self.tablets[name])
        self.touched.clear()
        self.is_server_touched = False

    def look(self, tablet: Tablet) -> None:
        before, after = tablet.state, self.host.do(tablet.name, "state")
        tablet.state = after
        self.ledger.note_sights(tablet.name, after)
        if before:
            self.ledger.check_outbox(tablet.name, before, after, tablet.dropped)
        tablet.dropped.clear()
        promises.check_tablet(self.view, tablet.name, self.device(tablet), after)

    def device(self, tablet: Tablet) -> Device:
        return Device.objects.get(name=tablet.name)

    def look_at_all(self) -> None:
        self.touched.update(self.tablets)
        self.check()

    def teardown(self) -> None:
        if not self.is_broken:
            self.connect_all()
        super().teardown()

    def connect_all(self) -> None:
        """All come home: clocks are set right, everything is sent, and all hold the same."""
        for tablet in self.tablets.values():
            for flight in [each for each in self.host.flights if each.tablet == tablet.name]:
                self.break_off(flight)
            tablet.clock_out_ms = 0
        last = -1
        while last != (last := log.last_number()):
            for tablet in self.tablets.values():
                self.museum.now_ms += STEP_MS
                self.through_all(tablet)
                self.try_to(tablet.name, "retryRefused")
                self.through(tablet, self.ask(tablet, "sync"))
            self.check()
        for tablet in self.tablets.values():
            waiting = [each for each in self.outbox(tablet.name) if each["state"] != "refused"]
            if waiting:
                raise ProtocolBroken("connected tablets send everything", f"{waiting}")
            unsent = [each for each in tablet.state["originals"] if not each["sent"]]
            if unsent:
                raise ProtocolBroken(
                    "connected tablets send everything", f"{tablet.problem} {unsent}"
                )
            promises.check_converged(self.view, tablet.name, self.device(tablet), tablet.state)
        if self.world.asks_the_server_too:
            faults = list(records.faults(lambda count: None))
            if faults:
                raise ProtocolBroken("the log played again gives the records", " ".join(faults))


# Heaviest first: Hypothesis comes back to the first of what it is offered more than to others.
BY_WEIGHT = [
    name
    for name, deed in sorted(DEEDS.items(), key=lambda each: -each[1].weight)
    for _ in range(deed.weight)
]


class Gate:
    """Holds one thread in its transaction, just before it ends, until the gate is opened."""

    # What can go on beside an open transaction has gone on after this time.
    LONG_ENOUGH_S = 0.15

    def __init__(self) -> None:
        self._mine = threading.local()
        self._reached = threading.Event()
        self._opened = threading.Event()

    def held(self, work: Callable[[Flight], None], flight: Flight) -> None:
        self._mine.is_held = True
        try:
            work(flight)
        finally:
            self._reached.set()

    def watching(self, tick: Callable[..., Any]) -> Callable[..., Any]:
        def watched(*given: Any, **named: Any) -> Any:
            read = tick(*given, **named)
            # Push reads the clock once more, with nothing given, when all is written.
            if not given and not named and getattr(self._mine, "is_held", False):
                self._reached.set()
                self._opened.wait(timeout=30)
            return read

        return watched

    def wait(self) -> None:
        self._reached.wait(timeout=30)

    def open(self) -> None:
        self._opened.set()
