"""The four who sign in. Their passwords are printed on every start: this is a demo."""

from dataclasses import dataclass

from survey.demo.museum.rounds import CONSERVATOR, COURIER, HEAD, SECOND


@dataclass(frozen=True)
class Staff:
    username: str
    password: str
    first_name: str
    last_name: str
    role: str
    role_in_words: str

    @property
    def name(self) -> str:
        return f"{self.first_name} {self.last_name}"


STAFF = (
    Staff(CONSERVATOR, "tideline-lantern", "Maren", "Askerby", "conservator", "conservator"),
    Staff(SECOND, "chain-shadow-oak", "Teodor", "Lindqvale", "conservator", "conservator"),
    Staff(COURIER, "crate-and-ferry", "Ruth", "Pennarrow", "courier", "courier"),
    Staff(HEAD, "harbour-ledger", "Isobel", "Fenwater", "head", "head of department"),
)
