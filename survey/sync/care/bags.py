"""BagIt 1.0 (RFC 8493): a folder that says of each of its files what its bytes are.

Reading is left to the bagit library; its check of the bytes says nothing for as long as it
takes, so that here every file is hashed one by one, and how far it is can be told.
"""

import hashlib
import logging
import os
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

import bagit

# Each fault is told by us in a sentence; the library would print it a second time.
logging.getLogger("bagit").setLevel(logging.CRITICAL)

DECLARATION = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"


class NoBag(ValueError):
    """Carries a sentence: this folder is no bag, or does not say what is in it."""


def entries_of(folder: Path) -> dict[str, dict[str, str]]:
    """What the manifests say: for each path in the bag its digests, by algorithm.

    Raises NoBag.
    """
    try:
        bag = bagit.Bag(str(folder))
    except (bagit.BagError, OSError, ValueError) as error:
        raise NoBag(f"It is not a whole BagIt bag: {error}.") from error
    if not bag.payload_entries():
        raise NoBag("It is not a whole BagIt bag: no manifest says what is in it.")
    entries: dict[str, dict[str, str]] = bag.entries
    return entries


def faults(
    folder: Path, entries: Mapping[str, Mapping[str, str]], progress: Callable[[int], None]
) -> Iterator[tuple[str, str]]:
    """Each path that is not as its manifest says, and what is the matter with it.

    ``progress`` is told the bytes of each file once it was read.
    """
    for path, expected in entries.items():
        try:
            for algorithm, digest in expected.items():
                with (folder / path).open("rb") as file:
                    if hashlib.file_digest(file, algorithm).hexdigest() != digest.lower():
                        yield path, "is damaged: its bytes are not those that were saved"
            progress((folder / path).stat().st_size)
        except FileNotFoundError:
            yield path, "is missing"
        except (OSError, ValueError) as error:
            yield path, f"cannot be read: {error}"
    for found in sorted((folder / "data").rglob("*")):
        path = found.relative_to(folder).as_posix()
        if path not in entries and not found.is_dir():
            yield path, "is in the folder, but in no manifest"


def write_tags(folder: Path, payload: Mapping[str, str], about: Mapping[str, str]) -> None:
    """Make a folder with its data/ a bag.

    payload  the SHA-256 of each file, by its path in the bag
    about    lines of bag-info.txt
    """
    size = sum((folder / path).stat().st_size for path in payload)
    lines = {**about, "Payload-Oxum": f"{size}.{len(payload)}"}
    tags = {
        "bagit.txt": DECLARATION,
        "bag-info.txt": "".join(f"{name}: {value}\n" for name, value in lines.items()),
        "manifest-sha256.txt": _manifest(payload),
    }
    sums = {path: hashlib.sha256(text.encode()).hexdigest() for path, text in tags.items()}
    for path, text in {**tags, "tagmanifest-sha256.txt": _manifest(sums)}.items():
        write_durably(folder / path, text)


def write_durably(path: Path, text: str) -> None:
    with path.open("w", encoding="utf-8") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())


def _manifest(sums: Mapping[str, str]) -> str:
    return "".join(f"{digest}  {path}\n" for path, digest in sorted(sums.items()))
