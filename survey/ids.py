"""Keys of rows, which the server makes in the same way as a tablet."""

import uuid

from uuid6 import uuid7


def new_id() -> uuid.UUID:
    """A fresh UUIDv7 (RFC 9562), so that keys sort by the time they were made."""
    return uuid.UUID(int=uuid7().int)
