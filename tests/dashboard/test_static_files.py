"""Our scripts as they are sent: the site page's modules as one, small, named by content and packed."""

import json
from pathlib import Path

import pytest
from django.core.files.base import ContentFile

from dashboard import starting, static_files
from dashboard.static_files import OURS, SITE, Joined, NamedByContent, minify, small
from tests.browser import opened
from tests.sent import STATIC, all_sent

MODULES = {
    "room/far/parts.js": """
export const ONE = 1, TWO = {
  of: "two" }, THREE = [1, 2].map(n => n + ONE);
const own = "parts";
export class Part {
  name = own;
}
""",
    "room/doing.js": """import { ONE, TWO as two, THREE } from "./far/parts.js";
import * as parts from "./far/parts.js";

const own = "doing";
export async function added() {
  return [own, ONE, two.of, ...THREE, new parts.Part().name];
}
""",
    "room/page.js": """import { added }
  from "./doing.js";
import { ONE } from "./far/parts.js";

document.title = `${await_(added)} ${ONE}`;

function await_(what) {
  what().then(told => { document.body.dataset.told = told; });
  return "a page";
}
""",
}
HERE = "https://telephone.example/"


def joined(**changed):
    return Joined({**MODULES, **changed}.__getitem__)


@pytest.mark.parametrize("as_sent", [str, small], ids=["as joined", "small"])
def test_modules_that_are_joined_do_what_they_did(browser, as_sent):
    modules = joined()
    script = as_sent(modules.exported("room/doing.js") + modules.on_a_page("room/page.js"))
    with opened(browser, None) as page:
        page.route(f"{HERE}**", lambda route: route.fulfill(
            body=script if route.request.url.endswith(".js") else "<!doctype html><title>Empty</title>",
            content_type="text/javascript" if route.request.url.endswith(".js") else "text/html"))
        page.goto(HERE)
        assert page.evaluate("async () => (await import('/joined.js')).doing.added()") == [
            "doing", 1, "two", 2, 3, "parts"]
        assert page.title() == "a page 1"
        assert page.evaluate("document.body.dataset.told") == "doing,1,two,2,3,parts"
        assert page.evaluate("""() => new Promise(told => {
          const worker = new Worker(URL.createObjectURL(new Blob([
            `import { doing } from "${location.origin}/joined.js"; doing.added().then(postMessage);`],
            { type: "text/javascript" })), { type: "module" });
          worker.onmessage = ({ data }) => told(data);
          worker.onerror = ({ message }) => told(message);
        })""") == ["doing", 1, "two", 2, 3, "parts"], "where there is no page"
        assert page.complaints == []


@pytest.mark.parametrize(("written", "told"), [
    ("export default 1;\n", "cannot be joined: export default 1"),
    ('import parts from "./far/parts.js";\n', "cannot be joined: import parts from"),
    ('import "./far/parts.js";\n', 'cannot be joined: import "./far/parts.js"'),
    ('export { ONE } from "./far/parts.js";\n', "cannot be joined: export { ONE }"),
    ('import { ONE, FOUR } from "./far/parts.js";\n', "does not export FOUR"),
])
def test_a_module_that_is_written_otherwise_is_named_and_nothing_is_sent(written, told):
    with pytest.raises(ValueError, match=told):
        joined(**{"room/doing.js": written}).exported("room/doing.js")


def test_what_only_people_read_is_not_sent():
    assert minify is not None, "it is there for the platforms tests run on"
    assert small("/* What it is. */\nconst first = 25_400_000n;\n\n// Why.\nconst second = first;\n") == (
        "const first=25400000n,second=first")


@pytest.fixture(scope="module")
def sent(tmp_path_factory):
    return all_sent(tmp_path_factory.mktemp("sent"))


def test_the_site_page_is_one_script_named_by_what_is_in_it(sent):
    folder, named = Path(sent.location), json.loads(sent.read_manifest())["paths"]
    assert {name for name in named if name.endswith(".js")} == {
        SITE, *(path.relative_to(STATIC).as_posix() for path in (STATIC / OURS).glob("*.js"))}
    for name in (SITE, f"{OURS}renew.js"):
        script = (folder / named[name]).read_bytes()
        assert script == (folder / name).read_bytes()
        assert b"\n" not in script


def test_ours_are_packed_by_brotli_and_those_of_packages_are_not(tmp_path):
    storage = NamedByContent(location=tmp_path, base_url="/static/")
    for name in ("dashboard/ours.css", "package/theirs.css"):
        storage.save(name, ContentFile(b".a { color: red; }\n" * 100))
    list(storage.post_process({name: (storage, name) for name in ("dashboard/ours.css", "package/theirs.css")}))
    packed = {path.name.split(".")[0]: set() for path in tmp_path.rglob("*.css*")}
    for path in tmp_path.rglob("*.css.*"):
        packed[path.name.split(".")[0]].add(path.suffix)
    assert packed == {"ours": {".gz", ".br"}, "theirs": {".gz"}}


def test_another_way_of_sending_makes_the_same_files_anew(monkeypatch, tmp_path):
    before = starting._static_sources()
    (tmp_path / "static_files.py").write_text("another")
    monkeypatch.setattr(static_files, "__file__", str(tmp_path / "static_files.py"))
    assert starting._static_sources() != before
