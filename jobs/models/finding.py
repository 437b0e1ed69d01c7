"""What an opening is found by: words, each once for all openings, and how each may be spelled in a hurry."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from jobs.models.jobs import Opening

LONGEST = 40


class FindingWord(models.Model):
    text = models.CharField(max_length=LONGEST, unique=True)

    def __str__(self) -> str:
        return self.text


class FindingSpelling(models.Model):
    """The word itself, its beginnings, and what is left of it with one character missing. `off`: how far from it that
    is, so that of very many words with the same beginning the nearest are read and no more."""

    key = models.CharField(max_length=LONGEST)
    off = models.PositiveSmallIntegerField()
    word = models.ForeignKey(FindingWord, models.CASCADE, related_name="spellings")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["key", "off", "word"], name="spelling_once_a_word")]

    def __str__(self) -> str:
        return self.key


class FindingEntry(models.Model):
    """This word stands in the records of this opening. Those of people are used only for who may read contacts."""

    OF = [("work", "Job and opening"), ("people", "People and where they are"), ("call", "Callbacks"),
          ("caller", "Who called")]
    OF_PEOPLE = ("people", "caller")

    word = models.ForeignKey(FindingWord, models.CASCADE, related_name="entries", db_index=False)
    opening = models.ForeignKey(Opening, models.CASCADE, related_name="+")
    of = models.CharField(max_length=6, choices=OF)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["word", "opening", "of"], name="entry_once_an_opening"),
            models.CheckConstraint(condition=Q(of__in=["work", "people", "call", "caller"]), name="entry_of_exists"),
        ]

    def __str__(self) -> str:
        return f"{self.opening_id}: {self.word_id}"
