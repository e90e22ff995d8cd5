"""Treatments: one put forward, one approved and under way, one done and photographed after."""

from dataclasses import dataclass

from survey.demo.museum.before import Before
from survey.demo.museum.rounds import CASES, CONSERVATOR, SECOND, Case


@dataclass(frozen=True)
class Meant:
    """A step as proposed: kind, what, material, concentration, hours."""

    kind: str
    what: str
    material: str = ""
    concentration: str = ""
    hours: float = 0.5


@dataclass(frozen=True)
class Carried:
    """A step that was done so many days after the beginning.

    proposed  the place, from 0, of the step it carries out; None was not foreseen
    step      in its own words where it was done otherwise than meant
    """

    proposed: int | None
    after_days: int
    hours: float
    seen: str = ""
    step: Meant | None = None


@dataclass(frozen=True)
class Treatment:
    """Days are told back from the day of seeding; None did not come yet.

    outcome, look_again_in_days  of one that is done
    """

    case: Case
    person: str
    aim: str
    risks: str
    alternatives: str
    steps: tuple[Meant, ...]
    made_days_ago: int
    forward_days_ago: int
    approved_days_ago: int | None = None
    approved_with: str = ""
    begun_days_ago: int | None = None
    done: tuple[Carried, ...] = ()
    closed_days_ago: int | None = None
    outcome: str = ""
    look_again_in_days: int = 0


def _seen(*terms: str) -> Case:
    """The case that saw these."""
    return next(case for case in CASES if set(terms) <= set(case.seen))


TAPED = _seen("tape 2", "handling-crease 1")

# The same sheet after its treatment: what was treated is gone.
AFTER = (
    Before(
        TAPED,
        18 / 365,
        SECOND,
        "After the removal of a tape",
        frozenset({"tape"}),
        "good",
        ("normal", "raking", "transmitted"),
    ),
)

TREATMENTS = (
    Treatment(
        _seen("tideline 2", "soft-fold 1"),
        CONSERVATOR,
        "Reduce the tideline at the left so that the wash reads as one tone again, and ease the "
        "fold. The sheet is wanted for Paper and Water.",
        "The grey wash may move with moisture, and a new tideline may form beside the old one. "
        "Both would show in the first test on the margin; the work stops there if they do.",
        "To leave the tideline and mount the sheet with a wider window: it hides a third of the "
        "line and treats nothing. Immersion would be more even, but puts the wash at risk.",
        (
            Meant("photograph", "Normal and raking light, and ultraviolet for the tideline.",
                  hours=0.5),
            Meant("test-water", "On the margin and on three tones of the wash.",
                  "Deionised water", "adjusted to pH 7 with calcium hydroxide", 1),
            Meant("humidify", "Relax the whole sheet between membrane and damp blotter.",
                  "Deionised water", "as vapour, through a microporous membrane", 1.5),
            Meant("wash", "On a wet blotter from the verso, tilted so that the line runs out.",
                  "Deionised water", "adjusted to pH 7 with calcium hydroxide", 4),
            Meant("flatten", "Between felts, the weight raised over two days.", hours=1),
        ),
        made_days_ago=9,
        forward_days_ago=5,
    ),
    Treatment(
        _seen("flaking 2", "fixative 1"),
        CONSERVATOR,
        "Set down the lifting paint of the hull and the sky above it, so that the sheet can be "
        "moved and mounted.",
        "The consolidant may darken the blue or leave a shine. Each is tried on the edge of the "
        "hull under magnification; the fixative may keep the water out.",
        "To leave it flat in its drawer: it is wanted for Paper and Water, and would lose paint at "
        "every move. A consolidant in a solvent would pass the fixative, but may dissolve it.",
        (
            Meant("photograph", "Normal, raking and specular light, before any other step.",
                  hours=0.5),
            Meant("test-water", "Consolidant on the edge of the hull, three places.",
                  "Isinglass", "0.5 % and 1 % w/v in deionised water", 1),
            Meant("consolidate-water", "Flake by flake under magnification, with a fine brush.",
                  "Isinglass", "1 % w/v in deionised water", 5),
            Meant("hinge", "New hinges and a mount deep enough for the paint.",
                  "Japanese tissue and wheat starch paste", "1 : 4 in deionised water", 1.5),
        ),
        made_days_ago=40,
        forward_days_ago=34,
        approved_days_ago=30,
        approved_with="No move before the hull is set down.",
        begun_days_ago=12,
        done=(
            Carried(0, 0, 0.75, "Specular light shows the fixative as a sheet over the sky only."),
            Carried(1, 0, 1.0, "1 % holds and leaves no shine; 0.5 % does not hold."),
            Carried(2, 4, 2.5, "The hull is done to the second mast."),
        ),
    ),
    Treatment(
        TAPED,
        SECOND,
        "Take off the tape and its adhesive before the adhesive travels further into the paper.",
        "The paper may skin where the carrier still holds. Solvent may carry the yellow adhesive "
        "deeper; suction from below keeps it on its way out.",
        "To leave it: the adhesive has begun to yellow and will stain for good. To take off the "
        "carrier alone leaves what does the harm.",
        (
            Meant("photograph", "Normal and raking light.", hours=0.5),
            Meant("remove-carrier", "Lift the film with a warmed spatula, from its loose end.",
                  hours=1),
            Meant("test-solvent", "On the adhesive at the lower edge.",
                  "Ethyl acetate", "undiluted, on a swab of 1 mm", 0.5),
            Meant("reduce-adhesive-solvent", "From the verso on the suction table.",
                  "Ethyl acetate", "undiluted", 3),
            Meant("rehouse", "A folder of its own.", hours=0.5),
        ),
        made_days_ago=96,
        forward_days_ago=92,
        approved_days_ago=90,
        begun_days_ago=34,
        done=(
            Carried(0, 0, 0.5),
            Carried(1, 0, 1.5, "The film came whole; no fibres with it."),
            Carried(2, 1, 0.5, "It softens within two minutes, and the graphite does not move."),
            Carried(3, 2, 3.5, "Most came out; a faint tone is left along the upper edge."),
            Carried(
                None, 2, 0.5, "",
                Meant("humidify", "Relaxed the place of the tape, which had drawn in.",
                      "Deionised water", "as vapour, through a microporous membrane", 0.5),
            ),
            Carried(4, 14, 0.5),
        ),
        closed_days_ago=16,
        outcome="The tape is off, with nearly all of its adhesive. A faint warm tone stays along "
        "its upper edge and is to be watched: should it darken, the reduction can be repeated.",
        look_again_in_days=350,
    ),
)  # fmt: skip
