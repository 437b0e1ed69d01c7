"""Static files are named by what is in them, also our scripts that import others: a telephone keeps them by those
names."""

from __future__ import annotations

from whitenoise.storage import CompressedManifestStaticFilesStorage


class NamedByContent(CompressedManifestStaticFilesStorage):
    """A module that imports another by its name imports it by the name that has the content in it. Modules that import
    each other in a ring cannot be named so; there are none."""

    support_js_module_import_aggregation = True
    # Ours only: scripts that come with packages speak of files that do not come along.
    _js_module_import_aggregation_patterns = (
        "dashboard/*.js", CompressedManifestStaticFilesStorage._js_module_import_aggregation_patterns[1])
    max_post_process_passes = 12  # one for each step in the longest chain of imports
