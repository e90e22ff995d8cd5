"""Names for people and places that never were, built of parts that sound right together."""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Tongue:
    """Parts of names as one country might have them; ``adjective`` as a catalogue says it."""

    adjective: str
    given: tuple[str, ...]
    family_starts: tuple[str, ...]
    family_ends: tuple[str, ...]
    place_starts: tuple[str, ...]
    place_ends: tuple[str, ...]
    particle: str = ""


TONGUES = (
    Tongue(
        "British",
        ("Ambrose", "Barnaby", "Cecily", "Dorothea", "Edmund", "Frances", "Gervase", "Hester",
         "Isaac", "Judith", "Lavinia", "Matthias", "Nathaniel", "Ottilie", "Phoebe", "Rowland",
         "Silas", "Tamsin", "Ursula", "Walter"),
        ("Ather", "Bram", "Colder", "Dunner", "Ember", "Fenn", "Gars", "Hathen", "Ings", "Kettle",
         "Larrow", "Marl", "Oxen", "Penn", "Quarl", "Rusk", "Skel", "Teasel", "Winder", "Yarrow"),
        ("croft", "dale", "shaw", "thwaite", "combe", "wick", "leigh", "stowe", "garth", "by"),
        ("Ather", "Crane", "Drift", "Ellery", "Gannet", "Heron", "Kelp", "Marram", "Tarn", "Whelk"),
        ("ford", "haven", " Ferry", " Mill", "mouth", " Sands", "holme", " Bridge"),
    ),
    Tongue(
        "Netherlandish",
        ("Adriaen", "Barend", "Claes", "Dirck", "Evert", "Floris", "Gillis", "Hendrickje",
         "Joost", "Lijsbeth", "Maerten", "Neeltje", "Pieter", "Roelof", "Symon", "Wouter"),
        ("Bramen", "Duyven", "Elzen", "Grouwen", "Hoeven", "Kester", "Lind", "Meers", "Oever",
         "Rietveen", "Slooten", "Veren", "Wissel", "Zand"),
        ("burgh", "horst", "sloot", "straeten", "waert", "meer", "broeck", "dael"),
        ("Zilte", "Oever", "Wulpen", "Meeuw", "Riet", "Schelp"),
        ("haven", "werf", "dam", "sluis", "kerke", "dijk"),
        "van",
    ),
    Tongue(
        "Italian",
        ("Agnolo", "Baldassare", "Cosimo", "Domenica", "Ercole", "Fabrizio", "Girolamo",
         "Ippolita", "Lelio", "Marcantonio", "Nicolò", "Orazio", "Prospero", "Silvestro",
         "Taddeo", "Vespasiano"),
        ("Bell", "Carm", "Dalm", "Ferl", "Gald", "Lav", "Monz", "Nerv", "Orl", "Pell", "Ras",
         "Scar", "Torn", "Valm"),
        ("arossi", "endoni", "igliani", "oletti", "uccini", "avento", "erghini", "ibaldi"),
        ("Castel", "Mont", "Val", "Porto ", "San "),
        ("orno", "elvo", "erba", "olivo", "arsa", "estro"),
    ),
    Tongue(
        "French",
        ("Antoinette", "Barthélemy", "Clément", "Denis", "Étiennette", "Fulgence", "Gaspard",
         "Honoré", "Jacquette", "Léonard", "Mathurin", "Noël", "Perrine", "Rémi", "Sébastienne",
         "Théophile"),
        ("Aubr", "Beaul", "Chant", "Delv", "Ferv", "Garl", "Hauter", "Marc", "Neuv", "Pomm",
         "Roch", "Sauv", "Valc", "Vern"),
        ("ancourt", "eraie", "illac", "oisy", "eronne", "ambert", "ivières", "ault"),
        ("Saint-", "Mont", "Beau", "Ville", "Roche"),
        ("gris", "lune", "orme", "vair", "sablon", "joncs"),
    ),
    Tongue(
        "German",
        ("Anselm", "Barbara", "Caspar", "Dietrich", "Elsbeth", "Georg", "Hieronymus", "Jobst",
         "Kunigunde", "Lorenz", "Melchior", "Ottilia", "Ruprecht", "Sibylla", "Ulrich", "Veit"),
        ("Ammer", "Birken", "Dorn", "Eschen", "Falken", "Geiers", "Hirschen", "Kranich", "Linden",
         "Mooss", "Rauhen", "Steiner", "Tauben", "Weiden"),
        ("bruck", "egger", "hain", "leitner", "mühl", "reuth", "thaler", "wanger"),
        ("Zeisel", "Dohlen", "Ellern", "Quitten", "Kranich", "Rauhen"),
        ("bruck", "hain", "furt", "werder", "see", "tal"),
    ),
    Tongue(
        "Scandinavian",
        ("Anders", "Birgitte", "Christen", "Ebba", "Folke", "Gunhild", "Holger", "Ingrid",
         "Jens", "Karen", "Lauritz", "Mette", "Niels", "Solveig", "Torben", "Ylva"),
        ("Asker", "Birke", "Dals", "Eke", "Fjelle", "Gråne", "Hauge", "Kvarn", "Lille", "Nordre",
         "Ost", "Rose", "Sunde", "Vestre"),
        ("berg", "blad", "dahl", "gaard", "holt", "lund", "strand", "vik"),
        ("Askel", "Grønne", "Maager", "Sild", "Tarre", "Terne"),
        ("havn", "vik", "holm", "ness", "fjord", "sund"),
    ),
)  # fmt: skip


def pick(random: np.random.Generator, choices: tuple[str, ...]) -> str:
    return choices[int(random.integers(len(choices)))]


def person_name(random: np.random.Generator, tongue: Tongue) -> str:
    family = pick(random, tongue.family_starts) + pick(random, tongue.family_ends)
    particle = f"{tongue.particle} " if tongue.particle else ""
    return f"{pick(random, tongue.given)} {particle}{family}"


def place_name(random: np.random.Generator, tongue: Tongue) -> str:
    start, end = pick(random, tongue.place_starts), pick(random, tongue.place_ends)
    return start + (end.capitalize() if start.endswith((" ", "-")) else end)
