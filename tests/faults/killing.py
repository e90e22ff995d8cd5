"""Picks who is killed and when, and writes down what was under way at that moment."""

import random
import threading
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field

from playwright.sync_api import BrowserContext, Request

SAVING, PUSHING, PULLING, UPLOADING, ASKING = "saving", "pushing", "pulling", "uploading", "asking"
# Tells of every transaction that writes records; and tries to send all the time, where a tablet
# would wait for half a minute.
IN_PAGE = """
{
  const begin = IDBDatabase.prototype.transaction;
  let open = 0;
  IDBDatabase.prototype.transaction = function (stores, mode, ...others) {
    const made = begin.call(this, stores, mode, ...others);
    if (mode === "readwrite" && made.objectStoreNames.contains("outbox")) {
      window.saving(open += 1);
      for (const end of ["complete", "abort"]) {
        made.addEventListener(end, () => window.saving(open -= 1));
      }
    }
    return made;
  };
  setInterval(() => dispatchEvent(new Event("online")), 250);
}
"""


def kind_of(request: Request) -> str | None:
    path = request.url.partition("/api/")[2]
    if path.startswith("sync/push"):
        return PUSHING
    if path.startswith("sync/pull"):
        return PULLING
    if path.startswith("uploads/"):
        return UPLOADING
    return ASKING if path else None


@dataclass
class Watch:
    """What the browser is doing, as it tells from moment to moment."""

    under_way: Counter[str] = field(default_factory=Counter)
    listener: Callable[[str], None] | None = None

    def over(self, context: BrowserContext) -> None:
        self.under_way.clear()
        context.expose_function("saving", self._saving)
        context.add_init_script(IN_PAGE)
        context.on("request", lambda request: self._add(kind_of(request), 1))
        for end in ("requestfinished", "requestfailed"):
            context.on(end, lambda request: self._add(kind_of(request), -1))  # type: ignore[call-overload]

    def _saving(self, how_many: int) -> None:
        begins = how_many > self.under_way[SAVING]
        self.under_way[SAVING] = how_many
        if begins and self.listener:
            self.listener(SAVING)

    def _add(self, kind: str | None, number: int) -> None:
        if kind is None:
            return
        self.under_way[kind] += number
        if number > 0 and self.listener:
            self.listener(kind)

    def now(self) -> str:
        return " and ".join(sorted(kind for kind, many in self.under_way.items() if many > 0))


@dataclass
class Plan:
    """One kill: of whom, and up to how long after which kind of thing began."""

    victims: list[str]
    during: str
    delay_s: float
    kill: Callable[[str], None]
    watch: Watch
    was_under_way: str = ""
    done: threading.Event = field(default_factory=threading.Event)
    begun: bool = False

    def arm(self) -> None:
        self.watch.listener = self._hear
        self._begin_after(3.0 if self.during else self.delay_s)

    def _hear(self, kind: str) -> None:
        if kind == self.during and not self.begun:
            self.begun = True
            self._begin_after(self.delay_s)

    def _begin_after(self, seconds: float) -> None:
        threading.Timer(seconds, self._do).start()

    def _do(self) -> None:
        if self.done.is_set():
            return
        self.was_under_way = self.watch.now() or "nothing"
        self.watch.listener = None
        self.done.set()
        for victim in self.victims:
            self.kill(victim)


def drawn(chance: random.Random, kill: Callable[[str], None], watch: Watch) -> Plan:
    victims = chance.choices([["server"], ["browser"], ["server", "browser"]], [4, 4, 2])[0]
    during = chance.choices(["", SAVING, PUSHING, UPLOADING, PULLING], [2, 3, 3, 3, 1])[0]
    delay_s = chance.uniform(0, 0.04) if during else chance.uniform(0, 1.5)
    return Plan(list(victims), during, delay_s, kill, watch)
