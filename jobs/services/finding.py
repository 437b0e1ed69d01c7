"""Finding an opening from any scrap of its records; and keeping up what it is found by, in the act that changes it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import log10
from operator import mul
from typing import Any

from django.apps import apps
from django.db import connection, models
from django.db.models import Exists, OuterRef, Q

from jobs.acts import Act
from jobs.calc import scraps
from jobs.calc.scraps import Scrap, Typed
from jobs.models import FindingEntry, FindingSpelling, FindingWord, Job, Opening, Party
from jobs.roles import Reach, reach
from jobs.stages import Stage

LONGEST = 120  # characters of a scrap
MANY = 300  # openings with one word; of more the latest are looked at
KEYS = 400  # of one scrap: twelve long words
SPELLED = 30  # words of one key
WORDS = 8  # of those that answer one part of a scrap, the nearest
AT_ONCE = 500  # openings whose words are written together
CONTENDERS = 150  # openings that are looked at closer
COMMON = 3  # common words looked into
FOUND = 8
FAR = 0.5  # of the best one's worth: what answers less well than that is not meant

Entry = tuple[str, str]  # a word, and of what it is
Model = Callable[[str], type[models.Model]]
Extra = Mapping[int, set[Entry]]

# What of these records an opening is found by; other changes to them leave its words as they are.
LOOKED_AT: dict[type[models.Model], frozenset[str]] = {
    Job: frozenset({"number", "title", "address", "builder", "builder_id", "owner", "owner_id", "holiday_region"}),
    Opening: frozenset({"tag", "location", "job", "job_id"}),
    Party: frozenset({"name", "contact", "phone", "email", "address"}),
}


# ---- keeping up ------------------------------------------------------------------------------------------


def keep_up(record: models.Model, changed: Iterable[str] = ()) -> None:
    """Called by the acts that make or change an office record, in their transaction."""
    looked_at = LOOKED_AT.get(type(record))
    if looked_at is None or (changed and not looked_at.intersection(changed)):
        return
    found = {Opening: Q(pk=record.pk), Job: Q(job=record.pk),
             Party: Q(job__builder=record.pk) | Q(job__owner=record.pk)}[type(record)]
    refresh(Opening.objects.filter(found).order_by("pk").values_list("pk", flat=True))


def refresh(openings: Iterable[int]) -> None:
    """What these openings are found by, as far as this floor knows it, from their records as they stand."""
    keys = list(openings)
    for n in range(0, len(keys), AT_ONCE):
        write(words_of_openings(keys[n:n + AT_ONCE]), ("work", "people"))


def refresh_others(opening_id: int, entries: set[Entry], of: Sequence[str]) -> None:
    """What the floors above know of an opening: `of` is what they speak for."""
    write({opening_id: entries}, of)


def words_of_openings(openings: Sequence[int], model: Model | None = None) -> dict[int, set[Entry]]:
    opening = _model("Opening", model)
    parties = [f"job__{who}__{name}" for who in ("builder", "owner") for name in (
        "name", "contact", "email", "address", "phone")]
    rows = opening.objects.filter(pk__in=openings).order_by().values(
        "pk", "tag", "location", "job__number", "job__title", "job__address", "job__holiday_region", *parties)
    return {row["pk"]: _entries(row) for row in rows}


def _entries(row: Mapping[str, Any]) -> set[Entry]:
    region = (row["job__holiday_region"] or "")[:2]
    work = scraps.words_of(row["job__title"], row["location"]) | scraps.words_of_code(row["job__number"], row["tag"])
    people = scraps.words_of(row["job__address"])
    for who in ("builder", "owner"):
        said = {name: row[f"job__{who}__{name}"] or "" for name in ("name", "contact", "email", "address", "phone")}
        phone = said.pop("phone")
        people |= scraps.words_of(*said.values())
        people |= scraps.words_of_telephone(phone, region) if phone else set()
    return {(word, "work") for word in work} | {(word, "people") for word in people}


def write(wanted: Mapping[int, set[Entry]], of: Sequence[str], model: Model | None = None) -> None:
    """Adds what is new and takes away what is no more; what stays is not touched."""
    entry, word = _model("FindingEntry", model), _model("FindingWord", model)
    stands: dict[int, dict[Entry, int]] = {}
    for pk, opening, of_what, text in entry.objects.filter(opening__in=list(wanted), of__in=of).values_list(
            "pk", "opening", "of", "word__text"):
        stands.setdefault(opening, {})[text, of_what] = pk
    new = {opening: entries - stands.get(opening, {}).keys() for opening, entries in wanted.items()}
    known = _known({text for entries in new.values() for text, _of in entries}, model)
    entry.objects.bulk_create([entry(opening_id=opening, word_id=known[text], of=of_what)
                               for opening in sorted(new) for text, of_what in sorted(new[opening])],
                              batch_size=2000, ignore_conflicts=True)
    gone = [pk for opening, had in stands.items() for one, pk in had.items() if one not in wanted[opening]]
    if gone:
        was = list(word.objects.filter(entries__in=gone).values_list("pk", flat=True))
        entry.objects.filter(pk__in=gone).delete()
        forget(was)


def forget(words: Sequence[int]) -> None:
    """Words that stand in no record any more: a name that was taken out is nowhere left."""
    still = FindingEntry.objects.filter(word=OuterRef("pk"))
    FindingWord.objects.filter(~Exists(still), pk__in=words).delete()


def words_at(opening_id: int) -> list[int]:
    return list(FindingEntry.objects.filter(opening=opening_id).values_list("word", flat=True))


def _known(texts: set[str], model: Model | None) -> dict[str, int]:
    """The ids of these words; those that are new are written with their spellings, in one order by everybody."""
    if not texts:
        return {}
    word, spelling = _model("FindingWord", model), _model("FindingSpelling", model)
    known = _ids(word, texts)
    new = sorted(texts - known.keys())
    if new:
        word.objects.bulk_create([word(text=text) for text in new], batch_size=2000, ignore_conflicts=True)
        ids = _ids(word, new)
        spelling.objects.bulk_create([spelling(key=key, off=off, word_id=ids[text]) for text in new
                                      for key, off in sorted(scraps.spellings(text).items())], batch_size=5000,
                                     ignore_conflicts=True)
        known |= ids
    return known


def _ids(word: type[models.Model], texts: Iterable[str]) -> dict[str, int]:
    every, found = sorted(texts), {}
    for n in range(0, len(every), 5000):
        found |= dict(word.objects.filter(text__in=every[n:n + 5000]).values_list("text", "pk"))
    return found


def _model(name: str, model: Model | None) -> type[models.Model]:
    return apps.get_model("jobs", name) if model is None else model(name)


# ---- finding ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Found:
    openings: tuple[int, ...] = ()  # the likeliest first
    near: frozenset[int] = frozenset()  # those where a part of the scrap stands only nearly


@dataclass(slots=True)
class _Search:
    """One scrap, looked up in a handful of statements however much there is."""

    act: Act
    scrap: Scrap
    texts: dict[int, str] = field(default_factory=dict)
    answers: dict[str, list[tuple[Typed, float]]] = field(default_factory=dict)
    weights: list[float] = field(default_factory=list)

    @property
    def contacts(self) -> bool:
        return may_find_by_contacts(self.act)

    def run(self) -> Found:
        self._read_words()
        if not self.answers:
            return Found()
        many = self._how_many()
        self.weights = self._weights(many)
        found = self._entries(many)
        ranked = self._ranked(found)
        near = frozenset(opening for opening in ranked if self._has_a_slip(found[opening]))
        return Found(tuple(sorted(ranked, key=lambda opening: opening in near)), near)

    def _read_words(self) -> None:
        """Of each key the words it is nearest to."""
        spelling, word = FindingSpelling._meta.db_table, FindingWord._meta.db_table
        nearest = (f"SELECT * FROM (SELECT s.key, w.id, w.text FROM {spelling} s JOIN {word} w ON w.id = s.word_id "  # noqa: S608
                   f"WHERE s.key = %s ORDER BY s.off LIMIT {SPELLED}) t")
        keys = sorted(self.scrap.keys)[:KEYS]
        with connection.cursor() as cursor:
            cursor.execute(" UNION ALL ".join([nearest] * len(keys)), keys)
            rows = cursor.fetchall()
        found = scraps.answered(self.scrap, ((key, text) for key, _pk, text in rows))
        best = _nearest(found)
        self.texts = {pk: text for _key, pk, text in rows if text in best}
        self.answers = {text: found[text] for text in self.texts.values()}

    def _how_many(self) -> dict[int, int]:
        """In how many openings each word stands, as far as it matters."""
        table, words = FindingEntry._meta.db_table, list(self.texts)
        count = f"(SELECT COUNT(*) FROM (SELECT 1 FROM {table} WHERE word_id = %s LIMIT {MANY}) t)"  # noqa: S608
        with connection.cursor() as cursor:
            cursor.execute("SELECT " + ", ".join([count] * len(words)), words)
            return dict(zip(words, cursor.fetchone(), strict=True))

    def _entries(self, many: Mapping[int, int]) -> dict[int, set[int]]:
        """The words by opening: of every opening with a rare one of them; where none of these is just what was typed,
        of the latest with a common one too."""
        rare = [word for word, count in many.items() if count < MANY]
        common = [word for word in many if word not in rare]
        found: dict[int, set[int]] = {}
        rows = list(self._rows(FindingEntry.objects.filter(word__in=rare))) if rare else []
        if max(map(self._near, rare), default=0) < scraps.SUFFIX:
            for word in sorted(common, key=self._near, reverse=True)[:COMMON]:
                rows += self._rows(FindingEntry.objects.filter(word=word).order_by("-opening"))[:MANY]
        for opening, word in rows:
            found.setdefault(opening, set()).add(word)
        if common and found:
            best = self._best(found, CONTENDERS)
            found = {opening: found[opening] for opening in best}
            for opening, word in self._rows(FindingEntry.objects.filter(word__in=common, opening__in=best)):
                found[opening].add(word)
        return found

    def _best(self, found: Mapping[int, set[int]], most: int) -> list[int]:
        if len(found) <= most:
            return list(found)
        worth = {opening: self._worth(words) for opening, words in found.items()}
        return sorted(found, key=lambda opening: (-worth[opening], -opening))[:most]

    def _near(self, word: int) -> float:
        return max(near for _way, near in self.answers[self.texts[word]])

    def _rows(self, entries: models.QuerySet) -> Any:
        if not self.contacts:
            entries = entries.exclude(of__in=FindingEntry.OF_PEOPLE)
        if reach(self.act.role, "read") is not Reach.ALL:
            entries = entries.filter(opening__in=Opening.objects.visible_to(
                self.act.user, self.act.role, self.act.today()))
        return entries.values_list("opening", "word")

    def _ranked(self, found: Mapping[int, set[int]]) -> list[int]:
        """The best of them; among equals those that were called about, then the accepted, then the latest."""
        worth = {opening: self._worth(words) for opening, words in found.items()}
        least = sorted(worth.values(), reverse=True)[:FOUND][-1:]
        least = max([*least, FAR * max(worth.values(), default=0)])
        best = [opening for opening, value in worth.items() if value >= least]
        rows = Opening.objects.visible_to(self.act.user, self.act.role, self.act.today()).filter(
            pk__in=sorted(best, reverse=True)[:MANY]).order_by().values_list("pk", "called_back", "stage")
        ranks = [(-worth[pk], not called, stage != Stage.ACCEPTED, -pk) for pk, called, stage in rows]
        return [-rank[-1] for rank in sorted(ranks)[:FOUND]]

    def _weights(self, many: Mapping[int, int]) -> list[float]:
        """What each piece of the scrap is worth: more, the fewer openings have it."""
        best: dict[int, tuple[float, int]] = {}
        for word, count in many.items():
            for way, near in self.answers[self.texts[word]]:
                for place in way.places:
                    best[place] = max(best.get(place, (0.0, 0)), (near, -count))
        return [1 / (1 + log10(1 - best[place][1])) if place in best else 0.0 for place in range(self.scrap.size)]

    def _worth(self, words: Iterable[int]) -> float:
        return round(sum(map(mul, self._answered(words), self.weights)), 6)

    def _has_a_slip(self, words: Iterable[int]) -> bool:
        """Whether a piece of the scrap stands there only nearly, or not at all."""
        return any(near < scraps.BEGINNING for near in self._answered(words))

    def _answered(self, words: Iterable[int]) -> list[float]:
        """How well each piece of the scrap is answered."""
        best = [0.0] * len(self.weights)
        for word in words:
            for way, near in self.answers[self.texts[word]]:
                for place in way.places:
                    best[place] = max(best[place], near)
        return best


def _nearest(found: Mapping[str, Sequence[tuple[Typed, float]]]) -> set[str]:
    """Of each part of the scrap the words that answer it best."""
    by_way: dict[Typed, list[tuple[float, str]]] = {}
    for text, ways in found.items():
        for way, near in ways:
            by_way.setdefault(way, []).append((-near, text))
    return {text for answers in by_way.values() for _near, text in sorted(answers)[:WORDS]}


def may_find_by_contacts(act: Act) -> bool:
    """Only who may read all of them: who finds by them learns them."""
    return reach(act.role, "read contacts") is Reach.ALL


def find(act: Act, typed: str, region: str = "") -> list[int]:
    """The openings this scrap may be of, the likeliest first. `region`: whose telephone numbers are said short."""
    return list(look_up(act, typed, region).openings)


def look_up(act: Act, typed: str, region: str = "") -> Found:
    """The same, and which of them only nearly answer it."""
    scrap = scraps.scrap_of(typed[:LONGEST], region[:2])
    return _Search(act, scrap).run() if scrap.size else Found()
