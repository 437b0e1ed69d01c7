"""Static files as they are sent: named by what is in them, so that a telephone keeps them by those names, and small.
All that the site page runs goes out as one script: on a bad line sixty answers take longer than what is in them."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path, PurePosixPath
from posixpath import normpath
from typing import Any

from django.core.files.base import ContentFile
from whitenoise.compress import Compressor
from whitenoise.storage import CompressedManifestStaticFilesStorage

try:
    import minify
except ImportError:  # there is none for some platforms: there scripts go out as they are written
    minify = None

OURS = "dashboard/"
ROOMS = ("dashboard/site/", "dashboard/calc/")  # the modules of the site page
SITE, PAGE, BEHIND = "dashboard/site.js", "dashboard/site/main.js", "dashboard/site/behind.js"
# How our modules are written; a test looks that all of them are.
IMPORTED = re.compile(r'^import (?:\{([^}]*)\}|\* as (\w+))\s+from "([^"]+)";\n', re.MULTILINE)
EXPORTED = re.compile(r"^export (?=(?:async )?(?:function|class) (\w+)|const ([^;]+);)", re.MULTILINE)
DECLARED = re.compile(r"(?:^|,)\s*(\w+) = ")
OTHERWISE = re.compile(r"^(?:import|export)\b.*", re.MULTILINE)


def small(script: str) -> str:
    """The same, with short names and nothing for people to read."""
    return script if minify is None else minify.string("application/javascript", script)


class Joined:
    """Modules in one script, each once and after those it imports. Every one keeps its names to itself, so that two
    may use the same. Raises ValueError for one that imports or exports in a way that is not known here."""

    def __init__(self, read: Callable[[str], str]) -> None:
        self._read = read
        self._names: dict[str, str] = {}
        self._given: dict[str, set[str]] = {}
        self._written: list[str] = []

    def exported(self, *modules: str) -> str:
        """These and all they need; each goes out by its own name, with all it exports."""
        return self._taken(modules) + "".join(
            f"export const {PurePosixPath(module).stem} = {self._names[module]};\n" for module in modules)

    def on_a_page(self, module: str) -> str:
        """It and what it needs besides, run only where there is a page."""
        return f'if ("document" in globalThis) {{\n{self._taken((module,))}}}\n'

    def _taken(self, modules: tuple[str, ...]) -> str:
        before = len(self._written)
        for module in modules:
            self._take(module)
        return "".join(self._written[before:])

    def _take(self, module: str) -> str:
        if module in self._names:
            return self._names[module]
        script = IMPORTED.sub(lambda found: self._imported(PurePosixPath(module).parent, found), self._read(module))
        given = [name for one, several in EXPORTED.findall(script)
                 for name in ([one] if one else DECLARED.findall(several))]
        script = EXPORTED.sub("", script)
        if left := OTHERWISE.search(script):
            raise ValueError(f"{module}: cannot be joined: {left[0]}")
        name = self._names[module] = f"m{len(self._names)}"
        self._given[module] = set(given)
        self._written.append(f"const {name} = (() => {{\n{script}\nreturn {{ {', '.join(given)} }};\n}})();\n")
        return name

    def _imported(self, folder: PurePosixPath, found: re.Match[str]) -> str:
        names, whole, path = found.groups()
        module = normpath(folder / path)
        name = self._take(module)
        if whole:
            return f"const {whole} = {name};\n"
        if missing := {one.split()[0] for one in names.split(",") if one.strip()} - self._given[module]:
            raise ValueError(f"{module}: does not export {', '.join(sorted(missing))}")
        return f"const {{{names.replace(' as ', ': ')}}} = {name};\n"


class Packer(Compressor):
    """By Brotli what is ours, which a telephone fetches; for all that comes with packages that would take a minute."""

    def __init__(self, ours: str, **how: Any) -> None:
        super().__init__(**how)
        self._ours, self._others = Path(ours), Compressor(**how, use_brotli=False)

    def compress(self, path: str) -> Any:
        return super().compress(path) if self._ours in Path(path).parents else self._others.compress(path)


class NamedByContent(CompressedManifestStaticFilesStorage):
    """What the site page runs is one script here, SITE; its modules go out as they are written, and only to who asks
    for one of them."""

    joins = True

    def post_process(self, paths: dict[str, Any], dry_run: bool = False, **options: Any) -> Iterator[Any]:
        yield from super().post_process(paths if dry_run else self._sent(paths), dry_run, **options)

    def create_compressor(self, **how: Any) -> Packer:
        return Packer(self.path(OURS), **how)

    def _text(self, name: str) -> str:
        with self.open(name) as script:
            return script.read().decode()

    def _sent(self, paths: dict[str, Any]) -> dict[str, Any]:
        """What is named by its content, each with where it is."""
        named = {name: found for name, found in paths.items() if not (name.startswith(ROOMS) and name.endswith(".js"))}
        scripts = {name: self._text(name) for name in named if name.startswith(OURS) and name.endswith(".js")}
        if PAGE in paths:
            joined = Joined(self._text)
            scripts[SITE] = joined.exported(BEHIND) + joined.on_a_page(PAGE)
        for name, script in scripts.items():
            self.delete(name)
            self.save(name, ContentFile(small(script).encode()))
            named[name] = (self, name)
        return named
