"""The floor that lists are measured against: one SQL statement and orjson, behind the same kind of server."""

from __future__ import annotations

import os
import sqlite3
import threading
from collections.abc import Callable, Iterable
from typing import Any

import orjson

SQL = ("SELECT id, version, job_id, tag, location, rough_width, rough_height, substrate, pocket_side, stage, "
       "stage_since FROM jobs_opening WHERE id > ? ORDER BY id LIMIT 50")
NAMES = ("id", "version", "job", "tag", "location", "rough_width_mm", "rough_height_mm", "substrate", "pocket_side",
         "stage", "stage_since")
_here = threading.local()


def application(environ: dict[str, Any], start_response: Callable) -> Iterable[bytes]:
    connection = getattr(_here, "connection", None)
    if connection is None:
        connection = _here.connection = sqlite3.connect(os.environ["BENCH_DATABASE"])
    rows = connection.execute(SQL, (0,)).fetchall()
    body = orjson.dumps({"results": [dict(zip(NAMES, row, strict=True)) for row in rows]})
    start_response("200 OK", [("Content-Type", "application/json"), ("Content-Length", str(len(body)))])
    return [body]
