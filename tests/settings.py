"""The site's own settings, with what would make tests slow or let them leave traces taken out."""

import atexit
import os
import shutil
import tempfile

# A folder of its own for each process, so that tests never meet what somebody keeps in .data.
_data = tempfile.mkdtemp(prefix="sillbook-tests-")
atexit.register(shutil.rmtree, _data, ignore_errors=True)
os.environ["SILLBOOK_DATA"] = _data
for _name in ("REDIS_URL", "EMAIL_HOST", "HTTPS", "DEBUG", "ALLOWED_HOSTS", "PROXIES"):
    os.environ.pop(_name, None)

from dashboard.settings import *  # noqa: E402, F403
from dashboard.settings import DATA, DATABASES  # noqa: E402

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
ALLOWED_HOSTS = ["testserver", "localhost", "127.0.0.1"]
CELERY_BROKER_URL = "memory://"
STATIC_ROOT.mkdir(exist_ok=True)  # noqa: F405  (whitenoise asks for it)

if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # A file and not memory: two connections then lock each other out as they would in earnest.
    DATABASES["default"]["TEST"] = {"NAME": str(DATA / "test.sqlite3")}
