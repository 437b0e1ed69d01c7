"""Where mail goes while no mail server is named: one file a mail, in a folder that only its owner may look into."""

import os
import re
import tempfile
from collections.abc import Sequence
from pathlib import Path

from django.conf import settings
from django.core.mail import EmailMessage
from django.core.mail.backends.base import BaseEmailBackend


class FolderBackend(BaseEmailBackend):
    """Writes each mail whole, under its Message-ID: handed over a second time it is still one file."""

    def send_messages(self, email_messages: Sequence[EmailMessage]) -> int:
        folder = Path(settings.EMAIL_FILE_PATH)
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        for message in email_messages:
            _write(folder, message)
        return len(email_messages)


def _write(folder: Path, message: EmailMessage) -> None:
    letter = message.message()
    name = re.sub(r"[^A-Za-z0-9.@-]", "", letter["Message-ID"])[:120]
    handle, draft = tempfile.mkstemp(dir=folder)
    with os.fdopen(handle, "wb") as file:
        file.write(letter.as_bytes())
    os.replace(draft, folder / f"{name}.eml")
