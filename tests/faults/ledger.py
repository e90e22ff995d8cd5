"""What was done on the tablet, and what of it the app said was saved.

A value is first *tried*, then, once the app says so, *promised*. After a kill a field may hold
the last value that was promised or one that was tried after it, and nothing else; a record
whose making was promised is there once, and one that was only tried is there once or not at all.
"""

from collections import Counter
from dataclasses import dataclass, field
from typing import Any

Rows = dict[str, dict[str, dict[str, Any]]]


@dataclass
class Record:
    """A record that is known to be on the tablet."""

    # By field: the values that it may hold, oldest first.
    may_hold: dict[str, list[Any]] = field(default_factory=dict)
    removal_tried: bool = False
    removed: bool = False


@dataclass
class Hoped:
    """A record that was being made, known by what it says until its key is known."""

    table: str
    says: dict[str, Any]
    promised: bool = False


@dataclass
class Ledger:
    records: dict[str, dict[str, Record]] = field(default_factory=dict)
    hoped: list[Hoped] = field(default_factory=list)
    faults: Counter[str] = field(default_factory=Counter)
    told: list[str] = field(default_factory=list)
    promises: int = 0

    def record(self, table: str, key: str) -> Record:
        return self.records[table][key]

    def begins(self, table: str, key: str, **says: Any) -> None:
        """A record that was there before the work began, or was just found."""
        values = {name: [value] for name, value in says.items()}
        self.records.setdefault(table, {})[key] = Record(may_hold=values)

    def hope(self, table: str, **says: Any) -> Hoped:
        hoped = Hoped(table, says)
        self.hoped.append(hoped)
        return hoped

    def promise_record(self, hoped: Hoped) -> None:
        hoped.promised = True
        self.promises += 1

    def try_value(self, table: str, key: str, name: str, value: Any) -> None:
        self.record(table, key).may_hold.setdefault(name, [None, ""]).append(value)

    def promise_value(self, table: str, key: str, name: str, value: Any) -> None:
        values = self.record(table, key).may_hold[name]
        # Whatever came before is overwritten for good.
        del values[: len(values) - 1 - values[::-1].index(value)]
        self.promises += 1

    def try_removal(self, table: str, key: str) -> None:
        self.record(table, key).removal_tried = True

    def promise_removal(self, table: str, key: str) -> None:
        self.record(table, key).removed = True
        self.promises += 1

    def living(self, table: str) -> list[str]:
        rows = self.records.get(table, {}).items()
        return [key for key, record in rows if not record.removal_tried]

    def compare(self, where: str, found: Rows) -> None:
        """Hold what was found in the tables against the promises, and take it for the truth."""
        for table, rows in found.items():
            known = self.records.setdefault(table, {})
            fresh = {key: row for key, row in rows.items() if key not in known}
            for hoped in [each for each in self.hoped if each.table == table]:
                alike = [key for key, row in fresh.items() if _says(row, hoped.says)]
                if len(alike) > 1:
                    self.fault("doubled", f"{where}: {table} {hoped.says}: {len(alike)} records")
                if alike:
                    self.begins(table, alike[0], **hoped.says)
                elif hoped.promised:
                    self.fault("lost", f"{where}: {table} {hoped.says} is not there")
                for key in alike:
                    del fresh[key]
                self.hoped.remove(hoped)
            for key in fresh:
                self.fault("doubled", f"{where}: {table} {key} was never made: {fresh[key]}")
            for key, record in known.items():
                self._compare_record(where, f"{table} {key}", record, rows.get(key))

    def _compare_record(
        self, where: str, name: str, record: Record, row: dict[str, Any] | None
    ) -> None:
        if row is None:
            if not record.removal_tried:
                self.fault("lost", f"{where}: {name} is not there")
            record.removal_tried = record.removed = True
            return
        if record.removed:
            self.fault("altered", f"{where}: {name} was removed and is there again")
        record.removal_tried = record.removed = False
        for part, values in record.may_hold.items():
            if row.get(part) not in values:
                self.fault(
                    "altered", f"{where}: {name} {part} is {row.get(part)!r}, not {values[-3:]!r}"
                )
            record.may_hold[part] = [row.get(part)]

    def fault(self, kind: str, sentence: str) -> None:
        self.faults[kind] += 1
        self.told.append(f"{kind}: {sentence}")


def _says(row: dict[str, Any], says: dict[str, Any]) -> bool:
    return all(row.get(name) == value for name, value in says.items())
