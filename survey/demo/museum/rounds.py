"""The outings of the last eight months, and what was seen on each: forty examinations.

A case asks for a kind of work and says what befell it. ``seen`` lists terms of the condition
vocabulary, each with 1 slight, 2 moderate, 3 severe; "+term" is a feature of the making that
was noted; "?term 2" was not yet decided; "!term 3" was seen but lies off the sheet (a frame,
a nail), so no picture shows it.
"""

from dataclasses import dataclass

from survey.demo.museum.places import (
    GALLERIES,
    MUSEUM,
    NORTH_BAY,
    PAPER_STORE,
    SOUTH_BAY,
    STUDIO,
)

CONSERVATOR, SECOND, COURIER, HEAD = "maren", "teodor", "ruth", "isobel"

ALL_LIGHTS = "normal raking raking transmitted specular ultraviolet"
# With the lamp all round, for the relief.
ALL_ROUND = "normal raking raking raking raking transmitted specular ultraviolet"


@dataclass(frozen=True)
class Round:
    """One visit. ``days_ago`` from the day of seeding; ``place`` in words when off the tree."""

    name: str
    purpose: str
    person: str
    days_ago: int
    location: str
    place: str = ""
    note: str = ""


@dataclass(frozen=True)
class Recommended:
    """Recommended: kind of work, hours, why, and hazards raised by hand."""

    kind: str
    hours: float
    note: str
    hazards: tuple[str, ...] = ()


@dataclass(frozen=True)
class Case:
    """One examination. ``lights`` of its photographs, each "raking" being another azimuth.

    ``mould``: sheets that name the same one were made on it, each cut from another part.
    """

    round: int
    subject: str
    medium: str
    seen: tuple[str, ...]
    grade: str
    work: tuple[Recommended, ...] = ()
    lights: str = "normal"
    verso_seen: str = "yes"
    note: str = ""
    signed: bool = True
    space: bool = False
    materials: bool = False
    mould: str = ""


ROUNDS = (
    Round("Plan chests 1 and 2", "storage-round", CONSERVATOR, 241, f"{PAPER_STORE}/Plan chest 1"),
    Round("Gallery 3, before the rehang", "gallery-round", SECOND, 206, f"{MUSEUM}/{GALLERIES[2]}"),
    Round("Box racks 1 to 3", "storage-round", CONSERVATOR, 162, f"{PAPER_STORE}/Box rack 2"),
    Round("Saltmarsh, north bay", "off-site", SECOND, 121, NORTH_BAY,
          note="58 % relative humidity on the bay's own gauge; the next bay was not opened."),
    Round("Three sheets for Paper and Water", "bench", CONSERVATOR, 93, f"{STUDIO}/Bench 1"),
    Round("Northmere Hall, arrival check", "loan-check", COURIER, 68, "",
          place="Crate room, Northmere Hall"),
    Round("Plan chest 4, after the gutter leak", "storage-round", CONSERVATOR, 44,
          f"{PAPER_STORE}/Plan chest 4", note="Water came in over drawers 5 to 8. All opened."),
    Round("Galleries 1 and 2", "gallery-round", SECOND, 29, f"{MUSEUM}/{GALLERIES[1]}"),
    Round("Saltmarsh, south bay", "off-site", SECOND, 11, SOUTH_BAY),
    Round("On the bench this week", "bench", CONSERVATOR, 1, f"{STUDIO}/Bench 2"),
)  # fmt: skip

CASES = (
    # Plan chests 1 and 2
    Case(0, "landscape", "pen-brown-ink",
         ("+watermark", "+chain-lines", "hinge 1", "skinned-area 2", "handling-crease 2",
          "tear 1", "foxing 1", "+incised-lines"),
         "fair",
         (Recommended("treat", 4, "Mend the tear from the verso; remove the two hinges."),),
         ALL_ROUND, space=True, materials=True,
         note="Compass and ruled lines under the drawing show in raking light only."),
    Case(0, "harbour", "pen-and-wash", ("tideline 2", "soft-fold 1", "hinge-residue 2"), "fair",
         (Recommended("treat", 9, "Reduce the tideline if the wash allows it; test first."),),
         "normal ultraviolet"),
    Case(0, "head", "red-chalk", ("smudging 2", "mat-burn 2"), "fair",
         (Recommended("rehouse", 1.5, "Deeper mount: the chalk must not touch its cover."),),
          "normal raking"),
    Case(0, "plant", "pen-brown-ink", (), "good", verso_seen="yes"),
    Case(0, "letter", "pen-brown-ink", ("iron-gall-ink-corrosion 3", "hard-fold 2", "loss 1"),
        "unstable",
         (Recommended("stabilise", 12,
          "Lettering has broken through along two lines; support at once, dry."),
          Recommended("image-or-analyse", 2, "Photograph under ultraviolet again after support.")),
         ALL_LIGHTS, materials=True),
    # Gallery 3
    Case(1, "harbour", "watercolour", ("fading 2", "light-darkening 2"), "fair",
         (Recommended("monitor", 0.5, "Rest it after this hang; compare colours in one year."),),
         verso_seen="no"),
    Case(1, "landscape", "watercolour", ("cockling 2", "!unsafe-hanging 3"), "poor",
         (Recommended("mount-and-frame", 5,
          "One hook has left the plaster. New fittings before it goes back.",
          ("unsafe-hanging",)),), "normal raking", verso_seen="no",
         note="Taken down the same afternoon with two technicians; now leaning, face to the wall."),
    Case(1, "facade", "pen-grey-wash", ("foxing 1", "hinge 1"), "good",
         (Recommended("monitor", 0.5, "Look again at the next rehang."),), verso_seen="part"),
    Case(1, "landscape", "pen-and-wash", (), "good", verso_seen="no"),
    # Box racks 1 to 3
    Case(2, "facade", "pen-grey-wash",
         ("+incised-lines", "+watermark", "hinge 2", "planar-distortion 2", "oil-stain 1",
          "collectors-stamp 0"),
         "fair", (Recommended("treat", 3,
         "Release the left hinge, which pulls; flatten under blotters."),),
         ALL_ROUND, space=True),
    Case(2, "landscape", "etching", ("+plate-mark", "foxing 3", "handling-crease 1"), "poor",
         (Recommended("treat", 14, "Foxing across the sky; aqueous treatment to be discussed."),),
         "normal ultraviolet"),
    Case(2, "figure", "black-chalk", ("rubbed-media 2", "adhesive-stain 2", "thinned-area 1"),
        "fair",
         (Recommended("treat", 5, "Reduce the two glue stains locally."),), "normal transmitted"),
    Case(2, "vessels", "engraving", ("+plate-mark", "worn-edge 1"), "good",
         (Recommended("rehouse", 0.5, "New folder."),)),
    Case(2, "plant", "watercolour", ("active-mould 3", "tideline 2"), "unstable",
         (Recommended("isolate", 1, "Bagged on the spot; neighbours 3 to 9 checked, none seen.",
          ("active-mould",)),
          Recommended("stabilise", 5,
          "Surface clean by suction in the cabinet once it is dry and dormant.")),
         ALL_LIGHTS),
    # Saltmarsh, north bay
    Case(3, "landscape", "black-chalk", ("insect-grazing 2", "surface-dirt 2",
        "!live-insects 2"), "poor",
         (Recommended("isolate", 1,
          "Silverfish under the folder flap. Bagged; traps set on rack 2.",
               ("live-insects",)),
          Recommended("treat", 6, "Surface clean; line the thinnest places.")), "normal raking"),
    Case(3, "landscape", "etching", ("+plate-mark", "old-mould 2", "tideline 1"), "fair",
         (Recommended("treat", 5,
          "Surface clean in the cabinet: old mould is still an irritant."),),
         "normal ultraviolet"),
    Case(3, "head", "graphite", ("tape 2", "handling-crease 1"), "fair",
         (Recommended("treat", 6, "Remove the tape and its glue before it travels further."),),
          "normal"),
    Case(3, "composition", "lithograph", ("turned-corner 2", "surface-dirt 1"), "fair",
         (Recommended("treat", 2, "Surface clean; ease the corner back."),), "normal raking"),
    # Three sheets for Paper and Water
    Case(4, "harbour", "watercolour",
         ("flaking 2", "tideline 2", "hinge 1", "skinned-area 1", "fixative 1"), "unstable",
         (Recommended("stabilise", 8,
          "Consolidate the dark of the hull under magnification before any move."),),
         ALL_LIGHTS, space=True, materials=True,
         note="Held flat, face up, on bench 1."),
    Case(4, "landscape", "pen-and-wash",
         ("+watermark", "+chain-shadows", "soft-fold 2", "skinned-area 3", "local-stain 2"), "fair",
         (Recommended("treat", 7, "Fill the skinned places from the verso; flatten."),), ALL_LIGHTS,
         space=True, materials=True),
    Case(4, "harbour", "etching",
         ("+plate-mark", "tear 2", "loss 2", "hinge-residue 2", "foxing 2"), "poor",
         (Recommended("treat", 16, "Wash, mend, fill the lower corner, new mount."),),
          ALL_LIGHTS, space=True),
    # Northmere Hall
    Case(5, "figure", "red-chalk", ("+watermark", "handling-crease 1", "hinge 1"), "good",
         (Recommended("monitor", 0.5, "Compare again on return."),), ALL_LIGHTS, verso_seen="part",
         mould="Aldermere, older pair",
         note="As on the outgoing check. Photographed in the borrower's crate room."),
    Case(5, "facade", "watercolour", ("tear 1", "mat-burn 1"), "fair",
         (Recommended("mount-and-frame", 2,
          "The tear has reached the mount's edge; new hinges on return."),),
         "normal raking", verso_seen="no"),
    Case(5, "plant", "engraving", (), "good", verso_seen="no"),
    # Plan chest 4
    Case(6, "letter", "pen-brown-ink", ("tideline 3", "cockling 3", "hard-fold 1"), "poor",
         (Recommended("treat", 9, "Ink has not run. Flatten; reduce the tideline."),),
          "normal transmitted"),
    Case(6, "landscape", "watercolour", ("water-stain 3", "cockling 2", "active-mould 2"),
        "unstable",
         (Recommended("isolate", 1, "Damp to the hand on arrival; bagged open, then dried.",
          ("active-mould",)),
          Recommended("treat", 12, "After drying: surface clean, then the stain.")),
         ALL_LIGHTS, materials=True),
    Case(6, "plant", "watercolour", ("tideline 1", "foxing 1"), "fair",
         (Recommended("treat", 4, "Local reduction of the tideline."),)),
    Case(6, "facade", "etching", ("+plate-mark", "planar-distortion 2"), "fair",
         (Recommended("treat", 2, "Humidify and flatten."),), "normal raking"),
    Case(6, "vessels", "graphite", (), "good"),
    # Galleries 1 and 2
    Case(7, "head", "black-chalk",
         ("+watermark", "+laid-lines", "brush-marks-from-drying 0", "soft-fold 1",
          "adhesive-residue 2",
          "local-stain 1"), "fair",
         (Recommended("treat", 3, "Remove the residue along the top edge."),), ALL_LIGHTS),
    Case(7, "facade", "engraving", ("+plate-mark", "light-darkening 2", "mat-burn 2"), "fair",
         (Recommended("mount-and-frame", 3, "Acid mount: replace."),), verso_seen="no"),
    Case(7, "figure", "pen-and-wash", ("offset 1", "?handling-crease 1"), "good",
         (Recommended("monitor", 0.5, "Ask whether the crease is the draughtsman's own."),),
          "normal raking",
         verso_seen="no"),
    Case(7, "harbour", "woodcut", ("abrasion 2", "pinhole 1"), "fair",
         (Recommended("mount-and-frame", 2, "Print rubs on its glazing: spacers."),), "normal",
          verso_seen="no"),
    # Saltmarsh, south bay
    Case(8, "composition", "colour-lithograph",
         ("scratch 2", "overall-darkening 2", "tape 1", "varnish 2", "fingerprint 2"), "fair",
         (Recommended("treat", 5, "Remove the tape at the top edge; leave the varnish."),),
          ALL_LIGHTS,
         note="The paper answers bright blue-white to the lamp."),
    Case(8, "landscape", "lithograph", ("patch 2", "loss 2", "surface-dirt 2"), "poor",
         (Recommended("treat", 10, "Old patch pulls; take it off and fill anew."),),
          "normal transmitted"),
    Case(8, "vessels", "watercolour", ("flaking 3", "insect-hole 1"), "unstable",
         (Recommended("stabilise", 6, "The red lifts in cups. Not to be moved upright.",
          ("flaking-media",)),),
         "normal raking", materials=True),
    # On the bench this week
    Case(9, "landscape", "pen-grey-wash",
         ("+watermark", "hinge 2", "skinned-area 2", "tear 2", "tideline 1"), "fair",
         (Recommended("treat", 6, "Hinges off, tear mended, remount."),), ALL_LIGHTS,
          signed=False, space=True, mould="Aldermere, older pair"),
    Case(9, "head", "lithograph", ("creasing 2", "label 1"), "fair",
         (Recommended("rehouse", 1, "Folder with a support sheet."),), "normal raking",
          signed=False),
    Case(9, "plant", "graphite", ("fingerprint 1",), "good", (), "normal", signed=False),
    Case(9, "figure", "engraving", ("+plate-mark", "flaking 1", "mat-burn 1"), "", (), "normal",
         signed=False, verso_seen=""),
)  # fmt: skip
