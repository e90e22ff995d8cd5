"""Keys that come out the same on every machine, so that seeding twice is seen as twice."""

import hashlib
import uuid

# 1 January 2020: before any real row's key, so that those made here sort first.
_MADE_MS = 1_577_836_800_000


def key(kind: str, number: int) -> uuid.UUID:
    """A UUIDv7 (RFC 9562) whose time is ``number`` milliseconds after a fixed day.

    Keys of one kind therefore sort by their number.
    """
    random = int.from_bytes(hashlib.sha256(f"{kind} {number}".encode()).digest()[:10], "big")
    bits = (_MADE_MS + number) << 80 | random
    bits = bits & ~(0xF << 76) | 0x7 << 76
    bits = bits & ~(0x3 << 62) | 0x2 << 62
    return uuid.UUID(int=bits)
