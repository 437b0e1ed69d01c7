"""The floor that lists are measured against: one SQL statement and orjson, behind the same kind of server.

At `/` the eleven columns that belong to an opening; at `/whole/` the columns that our list gives, with its job's.
"""

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
WHOLE = ("SELECT o.id, o.version, o.created_at, o.job_id, j.number, j.title, o.tag, o.location, o.rough_width, "
         "o.rough_height, o.substrate, o.pocket_side, o.recess, o.benchmark, o.pocket_depth_needed, "
         "o.pocket_thickness_needed, o.stage, o.stage_since, o.called_back FROM jobs_opening o "
         "JOIN jobs_job j ON j.id = o.job_id WHERE o.id > ? ORDER BY o.id LIMIT 50")
WHOLE_NAMES = ("id", "version", "created_at", "job", "job_number", "job_title", "tag", "location", "rough_width_mm",
               "rough_height_mm", "substrate", "pocket_side", "recess_mm", "benchmark", "pocket_depth_needed_mm",
               "pocket_thickness_needed_mm", "stage", "stage_since", "called_back")
_here = threading.local()


def application(environ: dict[str, Any], start_response: Callable) -> Iterable[bytes]:
    connection = getattr(_here, "connection", None)
    if connection is None:
        connection = _here.connection = sqlite3.connect(os.environ["BENCH_DATABASE"])
    sql, names = (WHOLE, WHOLE_NAMES) if environ["PATH_INFO"] == "/whole/" else (SQL, NAMES)
    rows = connection.execute(sql, (0,)).fetchall()
    body = orjson.dumps({"results": [dict(zip(names, row, strict=True)) for row in rows]})
    start_response("200 OK", [("Content-Type", "application/json"), ("Content-Length", str(len(body)))])
    return [body]
