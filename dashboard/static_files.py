"""Static files are named by what is in them, also our scripts that import others: a telephone keeps them by those
names. Our scripts go out without their comments, which are a fifth of what a telephone would fetch."""

from __future__ import annotations

import re

from django.core.files.base import ContentFile, File
from whitenoise.storage import CompressedManifestStaticFilesStorage

# On lines of their own. Nothing else is touched, so what is left is as it was written.
COMMENTS = re.compile(r"^[ \t]*(?:/\*(?:(?!\*/).)*\*/[ \t]*|//[^\n]*)\n", re.MULTILINE | re.DOTALL)


def without_comments(script: str) -> str:
    return COMMENTS.sub("", script)


class NamedByContent(CompressedManifestStaticFilesStorage):
    """A module that imports another by its name imports it by the name that has the content in it. Modules that import
    each other in a ring cannot be named so; there are none."""

    support_js_module_import_aggregation = True
    # Ours only: scripts that come with packages speak of files that do not come along.
    _js_module_import_aggregation_patterns = (
        "dashboard/*.js", CompressedManifestStaticFilesStorage._js_module_import_aggregation_patterns[1])
    max_post_process_passes = 12  # one for each step in the longest chain of imports

    def _save(self, name: str, content: File) -> str:
        if name.startswith("dashboard/") and name.endswith(".js"):
            whole = b"".join(content.chunks())  # from its start, wherever it was read to
            content = ContentFile(without_comments(whole.decode()).encode())
        return super()._save(name, content)
