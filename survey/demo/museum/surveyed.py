"""A survey of the paper store, walked before all the rounds: what was drawn, and what was found.

Objects are found by chance, by the store's own troubles: chest 4 was wetted once, rack 6 holds
what nobody has unpacked. Nothing found here cannot wait.
"""

from dataclasses import dataclass

from survey.demo.museum.rounds import CONSERVATOR, SECOND

NAME = "Paper store"
NUMBER = 132
MINUTES_AN_OBJECT = 10
OBJECTS_A_BOX = 20
DAYS_AGO = 330
# Its walks: who, on which day after the first, and how many objects.
WALKS = ((CONSERVATOR, 0, 44), (SECOND, 1, 44), (CONSERVATOR, 7, 44))
WORDS = (
    "Grade each sheet, note what you see, and say what it needs. Lift no sheet that is stuck or "
    "loose: note it, and leave it."
)
# Stops of the walk that came to nothing, by their place in it from 1.
MISSING = {
    23: "Not in its drawer; its folder is there, empty.",
    61: "Two sheets have this number, and the label of neither can be read.",
    104: "In a frame whose back is taped down: not opened.",
}


@dataclass(frozen=True)
class Trouble:
    """A condition that is met with: how often, and how much oftener in the places it favours."""

    term: str
    chance: float
    places: tuple[str, ...] = ()
    times: float = 1.0


TROUBLES = (
    Trouble("surface-dirt", 0.22, ("Box rack 6", "Box rack 5"), 2.4),
    Trouble("foxing", 0.20, ("Plan chest 4",), 1.6),
    Trouble("handling-crease", 0.17),
    Trouble("hinge-residue", 0.15),
    Trouble("tideline", 0.05, ("Plan chest 4",), 7.0),
    Trouble("mat-burn", 0.10),
    Trouble("overall-darkening", 0.10, ("Box rack 6",), 2.0),
    Trouble("tear", 0.08),
    Trouble("turned-corner", 0.07, ("Box rack 6",), 2.0),
    Trouble("tape", 0.06),
    Trouble("adhesive-residue", 0.06),
    Trouble("planar-distortion", 0.05, ("Plan chest 4",), 3.0),
    Trouble("loss", 0.03),
    Trouble("skinned-area", 0.03),
)
# What a way of working leaves on its sheet, by the medium's code.
FEATURES = {"etching": "plate-mark", "engraving": "plate-mark"}
LAID = "chain-lines"

# Work by the worst that was seen: kind, hours, why. Slight things ask for none.
WORK = {
    "tear": ("treat", (1.5, 3.0), "Mend the tear from the verso."),
    "loss": ("treat", (3.0, 8.0), "Fill the loss, so that it does not go on."),
    "tape": ("treat", (2.0, 6.0), "Take the tape off before its glue travels further."),
    "tideline": ("treat", (3.0, 9.0), "Reduce the tideline, if the media allow it; test first."),
    "planar-distortion": ("treat", (1.0, 2.5), "Humidify and flatten."),
    "mat-burn": ("rehouse", (0.5, 1.0), "The mount is acid: a new one, or a folder until then."),
    "turned-corner": ("treat", (0.5, 1.0), "Ease the corner back."),
}
# A mount or folder that has had its day, whatever else is seen.
WORN_HOUSING = ("rehouse", (0.25, 0.5), "New folder; the old one is brittle at its fold.")
WORN_HOUSING_CHANCE = 0.16
WORN_HOUSING_PLACES = ("Box rack 6", "Box rack 5", "Box rack 4")
