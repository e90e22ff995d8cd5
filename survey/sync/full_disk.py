"""What the interface answers when the server's disk is full: one status and sentence for all."""

import errno
import logging
import sqlite3
from typing import Any

from rest_framework.response import Response
from rest_framework.views import exception_handler

logger = logging.getLogger(__name__)

_NO_ROOM = {errno.ENOSPC, errno.EDQUOT}
# PostgreSQL's SQLSTATE disk_full (Appendix A of its manual).
_POSTGRESQL_DISK_FULL = "53100"
# SQLite cannot always tell why: the memory of its log that it shares is a file as well.
_SQLITE_DISK_FULL = {sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR_SHMSIZE}


def is_full_disk(error: BaseException | None) -> bool:
    """Whether a full disk or quota is the cause, or the cause of the cause, of an error."""
    while error is not None:
        if isinstance(error, OSError) and error.errno in _NO_ROOM:
            return True
        if getattr(error, "sqlite_errorcode", None) in _SQLITE_DISK_FULL:
            return True
        if getattr(error, "sqlstate", None) == _POSTGRESQL_DISK_FULL:
            return True
        error = error.__cause__ or error.__context__
    return False


def answer(error: Exception, context: dict[str, Any]) -> Response | None:
    """The interface's answer to an error: 507 for a full disk, else what it always is."""
    if not is_full_disk(error):
        return exception_handler(error, context)
    logger.error("The disk is full: nothing new can be taken.", exc_info=error)
    detail = (
        "The server's disk is full. What you send stays on the tablet and is sent later: "
        "tell whoever looks after Fieldleaf."
    )
    return Response({"detail": detail}, status=507)
