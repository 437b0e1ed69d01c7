"""Our scripts as they are sent: without their comments, and nothing else of them gone."""

import re
from pathlib import Path

import pytest
from django.core.files.base import ContentFile

from dashboard.static_files import COMMENTS, NamedByContent, without_comments
from tests.sent import scripts_sent

STATIC = Path(__file__).parents[2] / "dashboard" / "static"
SCRIPTS = sorted(STATIC.rglob("*.js"))
IMPORTED = re.compile(r"""\b(?:from|import)[\s(]*["']([./][^"']+\.js)["']""")
WRITTEN = """/* What it is,
   at length. */

import { a } from "./a.js";

/** @param {number} x */
export function twice(x) {
  // Why.
  return `${x} /* kept */ // kept` + 2 * x; // beside code it stays
}
/* before */ const b = "/*";
"""
SENT = """
import { a } from "./a.js";

export function twice(x) {
  return `${x} /* kept */ // kept` + 2 * x; // beside code it stays
}
/* before */ const b = "/*";
"""


def test_comments_on_lines_of_their_own_are_left_out():
    assert without_comments(WRITTEN) == SENT


@pytest.mark.parametrize("path", SCRIPTS, ids=[path.name for path in SCRIPTS])
def test_no_text_of_a_script_looks_like_a_comment(path):
    """A text over several lines, one of which starts as a comment does, would lose it."""
    script = path.read_text(encoding="utf-8")
    in_a_text = [left_out[0] for left_out in COMMENTS.finditer(script)
                 if without_comments(script[:left_out.start()]).count("`") % 2]
    assert in_a_text == []


def test_ours_lose_their_comments_and_others_keep_them(tmp_path):
    storage = NamedByContent(location=tmp_path, base_url="/static/")
    for name in ("dashboard/ours.js", "package/theirs.js", "dashboard/ours.css"):
        storage.save(name, ContentFile(WRITTEN.encode()))
    assert (tmp_path / "dashboard/ours.js").read_text(encoding="utf-8") == SENT
    assert (tmp_path / "package/theirs.js").read_text(encoding="utf-8") == WRITTEN
    assert (tmp_path / "dashboard/ours.css").read_text(encoding="utf-8") == WRITTEN


def test_what_is_named_by_its_content_is_whole(tmp_path):
    storage = NamedByContent(location=tmp_path, base_url="/static/")
    for name, script in (("a", "export const a = 1;\n"), ("b", WRITTEN)):
        storage.save(f"dashboard/{name}.js", ContentFile(script.encode()))
    list(storage.post_process({f"dashboard/{name}.js": (storage, f"dashboard/{name}.js") for name in "ab"}))
    sent = (tmp_path / storage.stored_name("dashboard/b.js")).read_text(encoding="utf-8")
    assert sent == SENT.replace("./a.js", f"./{Path(storage.stored_name('dashboard/a.js')).name}")


def test_every_script_imports_others_by_the_names_that_have_their_content_in_them(tmp_path):
    storage = scripts_sent(tmp_path)
    named = [tmp_path / name for name in storage.hashed_files.values()]
    imports = [(path.parent / name).resolve() for path in named
               for name in IMPORTED.findall(path.read_text(encoding="utf-8"))]
    assert len(imports) > len(SCRIPTS)
    assert set(imports) <= set(named)
