"""Somebody at work on the tablet, who keeps a ledger of what the app said was saved."""

import hashlib
import random
from collections.abc import Callable

from playwright.sync_api import Page, expect

from tests.browser import small_museum, tablet
from tests.faults import evidence
from tests.faults.ledger import Ledger

TERMS = ["tear", "foxing", "soot", "cockling", "puncture", "abrasion"]
LIGHTS = ["normal", "transmitted", "specular", "ultraviolet"]
WORDS = ["cockled", "torn", "flat", "foot", "head", "left", "right", "brown", "tide", "worn"]
OBJECTS = [str(small_museum.key("object", number)) for number in range(2)]
# By the app's own rule, a write that takes longer than 300 ms is said on the form.
NOTHING_SAID_OF_SAVING = """
() => new Promise((resolve) => {
  const began = performance.now();
  let quietSince = began;
  const look = () => {
    const said = document.querySelector(".examine-actions .save-state");
    if (!said || said.textContent.trim()) quietSince = performance.now();
    if (performance.now() - quietSince > 400) resolve(true);
    else if (performance.now() - began > 15_000) resolve(false);
    else setTimeout(look, 20);
  };
  look();
})
"""
SAVE = """
async ([entity, id, fields]) => {
  const { save } = await import("/field/store/write.js");
  await save(entity, id, fields);
}
"""
CREATE = """
async ([entity, fields]) => {
  const { create } = await import("/field/store/write.js");
  return create(entity, fields);
}
"""
REMOVE = """
async ([entity, id]) => {
  const { remove } = await import("/field/store/write.js");
  await remove(entity, id);
}
"""


class Examiner:
    """Does one thing after another, each by chance.

    What the app says: a form that says nothing of saving, a record that shows on the screen, or
    a promise of store/write.js that resolved.
    """

    def __init__(self, chance: random.Random, ledger: Ledger) -> None:
        self.chance = chance
        self.ledger = ledger
        self.page: Page
        self.visit = ""
        self.examination = ""
        self.photographs: dict[str, int] = {}
        self.made = 0

    def go_on(self, page: Page) -> None:
        """Take up the tablet after it was opened anew; whatever was half done is judged."""
        self.page = page
        found = evidence.on_the_tablet(page)
        self.ledger.compare("on the tablet", found["rows"])
        for photograph in found["rows"]["photographs"].values():
            sha256 = photograph["sha256"]
            if sha256 not in found["originals"]:
                self.ledger.fault("lost", f"the file of photograph {photograph['id']}")
            elif found["unsent"].get(sha256, sha256) != sha256:
                self.ledger.fault("altered", f"the file of photograph {photograph['id']}")
        for change in found["outbox"]:
            if change["state"] == "refused":
                self.ledger.fault("lost", f"a change was refused: {change['reasons']}")
        if not self.visit:
            return
        rows = found["rows"]["examinations"]
        own = [row for row in rows.values() if row["visit"] == self.visit]
        open_ones = [row["id"] for row in own if not row["signed_at"]]
        for row in own:
            if row["signed_at"]:
                self._is_signed(row["id"], row)
        if open_ones:
            self.examination = open_ones[0]
            self.open_form()
        else:
            self.begin_examination()

    def start_visit(self) -> None:
        hoped = self.ledger.hope("visits", purpose="storage-round")
        tablet.start_visit(self.page, "storage-round")
        self.ledger.promise_record(hoped)
        self.visit = self.page.url.rsplit("/", 1)[1]
        self.ledger.compare("on the tablet", evidence.on_the_tablet(self.page)["rows"])
        self.begin_examination()

    def begin_examination(self) -> None:
        thing = self.chance.choice(OBJECTS)
        hoped = self.ledger.hope("examinations", visit=self.visit, object=thing)
        self._hash(f"#/find?visit={self.visit}&object={thing}")
        self.page.get_by_role("button", name="Examine", exact=True).click()
        self.page.wait_for_url("**/field/#/examine/*")
        expect(tablet.field(self.page, "examination:notes")).to_be_visible()
        self.ledger.promise_record(hoped)
        self.examination = self.page.url.rsplit("/", 1)[1]
        self._find()

    def open_form(self) -> None:
        self._hash(f"#/examine/{self.examination}")
        expect(tablet.field(self.page, "examination:notes")).to_be_visible()

    def something(self) -> None:
        """One of the things that are done on a sheet."""
        things: list[tuple[int, Callable[[], None]]] = [
            (6, self.type_notes),
            (4, self.tick_a_term),
            (6, self.photograph),
            (6, self.write_a_few),
            (1, self.take_away),
            (1, self.sign),
        ]
        self.chance.choices([do for _, do in things], [weight for weight, _ in things])[0]()

    def type_notes(self) -> None:
        words = " ".join(self.chance.choices(WORDS, k=self.chance.randint(1, 4)))
        words = f"{words}. "
        key = self.examination
        box = tablet.field(self.page, "examination:notes")
        before = box.input_value()
        if len(before) > 400:
            before = ""
            self.ledger.try_value("examinations", key, "notes", before)
            box.fill(before)
        for end in range(1, len(words) + 1):
            self.ledger.try_value("examinations", key, "notes", before + words[:end])
        box.focus()
        self.page.keyboard.press("Control+End")
        self.page.keyboard.type(words)
        if self.page.evaluate(NOTHING_SAID_OF_SAVING):
            self.ledger.promise_value("examinations", key, "notes", before + words)

    def tick_a_term(self) -> None:
        seen = {
            self.ledger.record("observations", key).may_hold["term"][0]
            for key in self._own("observations")
        }
        left = [term for term in TERMS if term not in seen]
        if not left:
            return self.write_a_few()
        term = self.chance.choice(left)
        hoped = self.ledger.hope("observations", examination=self.examination, term=term)
        tablet.tick(self.page, term, term)
        self.ledger.promise_record(hoped)
        self._find()

    def photograph(self) -> None:
        content = self.shot(self.chance.choice([50_000, 50_000, 400_000, 2_500_000, 4_000_000]))
        sha256 = hashlib.sha256(content).hexdigest()
        light = self.chance.choice(LIGHTS)
        hoped = self.ledger.hope(
            "photographs", examination=self.examination, sha256=sha256, light=light
        )
        tablet.photograph_by(self.page, light, content)
        self.ledger.promise_record(hoped)
        self._find()

    def write_a_few(self) -> None:
        """Writes as fast as the tablet takes them, on the newest records."""
        for _ in range(self.chance.randint(2, 6)):
            observations = self._own("observations")
            if observations and self.chance.random() < 0.6:
                key, note = self.chance.choice(observations), self._words()
                self.ledger.try_value("observations", key, "note", note)
                self.page.evaluate(SAVE, ["observation", key, {"note": note}])
                self.ledger.promise_value("observations", key, "note", note)
            else:
                said = {"examination": self.examination, "what": self._words(), "value": self.made}
                hoped = self.ledger.hope("measurements", **said)
                key = self.page.evaluate(CREATE, ["measurement", {**said, "uncertainty": 0.5}])
                self.ledger.hoped.remove(hoped)
                self.ledger.begins("measurements", key, **said)
                self.ledger.promises += 1

    def take_away(self) -> None:
        measurements = self._own("measurements")
        if measurements:
            key = self.chance.choice(measurements)
            self.ledger.try_removal("measurements", key)
            self.page.evaluate(REMOVE, ["measurement", key])
            self.ledger.promise_removal("measurements", key)

    def sign(self) -> None:
        if not self._own("observations"):
            return self.tick_a_term()
        name = tablet.field(self.page, "examination:signed_name").input_value()
        self.ledger.try_value("examinations", self.examination, "signed_name", name)
        tablet.sign(self.page)
        self.ledger.promise_value("examinations", self.examination, "signed_name", name)
        rows = evidence.on_the_tablet(self.page)["rows"]["examinations"]
        self._is_signed(self.examination, rows[self.examination])
        self.begin_examination()

    def _is_signed(self, key: str, row: dict[str, object]) -> None:
        """From here on it may hold nothing but what it holds now."""
        record = self.ledger.record("examinations", key)
        for name in ("notes", "signed_name", "signed_at"):
            record.may_hold[name] = [row[name]]

    def _own(self, table: str) -> list[str]:
        """Living records of the examination in hand."""
        return [
            key
            for key in self.ledger.living(table)
            if self.examination in self.ledger.record(table, key).may_hold.get("examination", [])
        ]

    def _find(self) -> None:
        """Learn the keys of what was just made."""
        self.ledger.compare("on the tablet", evidence.on_the_tablet(self.page)["rows"])

    def _hash(self, route: str) -> None:
        self.page.evaluate("(route) => { location.hash = route; }", route)

    def _words(self) -> str:
        self.made += 1
        return f"{self.chance.choice(WORDS)} {self.made}"

    def shot(self, size: int) -> bytes:
        """A photograph whose bytes no other has, of about that many and what a header takes."""
        self.made += 1
        picture = tablet.shot(self.made, 160, 120)
        parts = [
            b"\xff\xfe\xff\xff" + self.chance.randbytes(0xFFFF - 2)
            for _ in range(size // 0xFFFF + 1)
        ]
        content = picture[:2] + b"".join(parts) + picture[2:]
        self.photographs[hashlib.sha256(content).hexdigest()] = len(content)
        return content
