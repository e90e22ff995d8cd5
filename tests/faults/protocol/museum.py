"""The server as the tablets' requests meet it: the real one, on a database of its own.

Every request goes through the WSGI application, and every transaction is committed for real,
so that several can run at the same time. Between two examples all rows are taken out again.
"""

import copy
import io
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from unittest import mock
from urllib.parse import urlsplit

from django.apps import apps
from django.conf import settings
from django.core.cache import cache
from django.core.handlers.wsgi import WSGIHandler
from django.db import connection, connections, transaction

from survey.access.models import Person
from survey.catalogue.models import Location, Object
from survey.collection.models import Stop
from survey.sync import log, services
from survey.sync.models import Upload
from tests.factories import (
    ExaminationFactory,
    LocationFactory,
    ObjectFactory,
    ObservationFactory,
    PersonFactory,
    VisitFactory,
)
from tests.faults.protocol.tablets import Answer, Flight

# Asked for in each sync, larger than all the rest, and no part of what is tried here.
NO_VOCABULARY = Answer(304, {}, b"")

# Rooms whose rows an example makes. The vocabulary stays: nothing here changes it.
MADE_ANEW = ("access", "sync", "catalogue", "examination", "triage", "collection")


@contextmanager
def own_database(folder: Path) -> Iterator[None]:
    """Work on a copy of the test database that several connections can share."""
    before = connections["default"]
    configured = connections.settings["default"]
    if connection.vendor == "sqlite":
        own = copy.deepcopy(configured)
        own["NAME"] = str(folder / "museum.sqlite3")
        # Nobody pulls a plug here, so no write need wait for the disk.
        own["OPTIONS"]["init_command"] = "PRAGMA journal_mode=WAL; PRAGMA synchronous=OFF;"
        before.ensure_connection()
        with sqlite3.connect(own["NAME"]) as target:
            before.connection.backup(target)
        target.close()
    else:
        before.creation.clone_test_db("protocol", verbosity=0)
        own = before.creation.get_test_db_clone_settings("protocol")
    connections.settings["default"] = own
    del connections["default"]
    try:
        yield
    finally:
        connections["default"].close()
        connections.settings["default"] = configured
        connections["default"] = before
        if connection.vendor != "sqlite":
            before.creation.destroy_test_db(suffix="protocol", verbosity=0)


class Museum:
    """Two people, two rooms, four objects, one of them under examination, and a walk past all
    of them; and whatever the tablets make of it."""

    def __init__(self) -> None:
        self.application = WSGIHandler()
        self.now_ms = log.wall_clock_ms()
        self.began_ms = self.now_ms
        self.people: list[Person] = []
        self.rooms: list[Location] = []
        self.objects: list[Object] = []

    def reset(self) -> None:
        """Back to the beginning: nothing but the people, the rooms and the objects."""
        self.now_ms = self.began_ms
        with transaction.atomic(), connection.cursor() as cursor:
            if connection.vendor == "postgresql":
                cursor.execute("SET CONSTRAINTS ALL DEFERRED")
            for table in _tables():
                cursor.execute(f"DELETE FROM {connection.ops.quote_name(table)}")
        for folder in (settings.PHOTOGRAPHS_DIR, settings.UPLOADS_DIR):
            shutil.rmtree(folder, ignore_errors=True)
        self.people = [PersonFactory(username=name) for name in ("ottoline", "wren")]
        with transaction.atomic():
            self.rooms = [LocationFactory(name=name) for name in ("North store", "South store")]
            services.log_many("location", self.rooms, None)
            places = [*self.rooms, self.rooms[0], None]
            self.objects = [ObjectFactory(location=place) for place in places]
            services.log_many("object", self.objects, None)
            visit = VisitFactory(person=self.people[0])
            examination = ExaminationFactory(visit=visit, object=self.objects[0], notes="Begun.")
            seen = ObservationFactory(examination=examination, term_id="tear")
            for name, row in {
                "visit": visit,
                "examination": examination,
                "observation": seen,
            }.items():
                services.log_many(name, [row], self.people[0])
            stops = [
                Stop.objects.create(visit=visit, object=item, order=order)
                for order, item in enumerate(self.objects, 1)
            ]
            services.log_many("stop", stops, self.people[0])

    def serve(self, request: Flight, arrived: int | None = None) -> Answer:
        """Let a request reach the server, or only the first bytes of its body."""
        if request.path == "/api/vocabulary":
            return NO_VOCABULARY
        address = urlsplit(request.path)
        environ: dict[str, Any] = {
            "REQUEST_METHOD": request.method,
            "SCRIPT_NAME": "",
            "PATH_INFO": address.path,
            "QUERY_STRING": address.query,
            "SERVER_NAME": "127.0.0.1",
            "SERVER_PORT": "8000",
            "SERVER_PROTOCOL": "HTTP/1.1",
            "REMOTE_ADDR": "127.0.0.1",
            "wsgi.url_scheme": "http",
            "wsgi.input": io.BytesIO(request.body[:arrived]),
            "wsgi.errors": io.StringIO(),
            "wsgi.multithread": True,
            "wsgi.multiprocess": False,
            "wsgi.run_once": False,
            "CONTENT_LENGTH": str(len(request.body)),
        }
        for name, value in request.headers.items():
            key = name.upper().replace("-", "_")
            environ[key if key == "CONTENT_TYPE" else f"HTTP_{key}"] = value
        told: dict[str, Any] = {}

        def start_response(status: str, headers: list[tuple[str, str]], *_: Any) -> None:
            told.update(status=int(status.split()[0]), headers=dict(headers))

        response = self.application(environ, start_response)
        try:
            body = b"".join(response)
        finally:
            response.close()
        return Answer(told["status"], told["headers"], body)

    def serve_in_thread(self, request: Flight) -> Answer:
        """As serve, beside other threads: leaves no connection behind."""
        try:
            return self.serve(request)
        finally:
            connections.close_all()

    def restart(self) -> None:
        """A new process would know nothing but what lies on the disk."""
        connections.close_all()
        cache.clear()

    def expire_uploads(self) -> None:
        """Nobody went on with them for longer than the server keeps them."""
        Upload.objects.filter(finished_at=None).update(expires_at="2000-01-01T00:00:00Z")

    @contextmanager
    def running(self) -> Iterator[None]:
        with mock.patch.object(log, "wall_clock_ms", lambda: self.now_ms):
            yield


def _tables() -> list[str]:
    models = [model for room in MADE_ANEW for model in apps.get_app_config(room).get_models()]
    own = [model._meta.db_table for model in reversed(models)]
    joined = [field.m2m_db_table() for model in models for field in model._meta.local_many_to_many]
    return joined + own
