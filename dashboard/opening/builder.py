"""What an opening's page says of the builder: links to the site report, and what was reported corrected."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from dashboard.forms.acts import ActForm
from dashboard.forms.builders_link import RevokeLinkForm, TakeNoteForm
from dashboard.measures import Reader
from inspections.models import BuilderLink, CorrectionReport, Photo
from inspections.services.builders_link import EXPIRED, READ_AGAIN, last_day, told_whether_read_again, why_ended
from jobs.acts import Act
from jobs.models import Opening, Wait

BUILDER = "builder"
OfferForm = Callable[..., ActForm | None]


@dataclass(frozen=True, slots=True)
class LinkRow:
    pk: Any
    said: str
    made: str
    opened: str
    holds: bool
    revoke: ActForm | None


@dataclass(frozen=True, slots=True)
class ReportRow:
    note: str
    when: str
    photo: Any
    seen: str
    take_note: ActForm | None


def links_of(opening: Opening) -> list[BuilderLink]:
    found = list(told_whether_read_again().filter(opening=opening).select_related("by", "revoked_by")[:20])
    for link in found:
        link.opening = opening
    return found


def reports_of(opening: Opening) -> list[CorrectionReport]:
    return list(CorrectionReport.objects.filter(link__opening=opening).select_related("seen_by")[:40])


def link_row(link: BuilderLink, act: Act, reader: Reader, form: OfferForm) -> LinkRow:
    ended = why_ended(link, act.now)
    opened = _("last opened %s") % reader.moment(link.last_opened_at) if link.last_opened_at else _("not opened yet")
    return LinkRow(link.pk, _how_it_stands(link, ended, reader), f"{reader.moment(link.taken_at)}, {link.by}", opened,
                   not ended, None if ended else form(RevokeLinkForm, link=link.pk))


def _how_it_stands(link: BuilderLink, ended: str, reader: Reader) -> str:
    if ended == READ_AGAIN:
        return _("Opens nothing any more: the opening was read again since")
    if ended == EXPIRED:
        return _("Ended with %s") % reader.whole_day(last_day(link))
    if ended:
        return _("Revoked %(day)s by %(by)s") % {"day": reader.day(link.revoked_at), "by": link.revoked_by}
    return _("Holds until the end of %s") % reader.whole_day(last_day(link))


def report_row(report: CorrectionReport, reader: Reader, form: OfferForm) -> ReportRow:
    seen, offered = "", None
    if report.seen_at is None:
        offered = form(TakeNoteForm, report=report.pk)
    else:
        seen = _("Seen %(day)s by %(by)s") % {"day": reader.day(report.seen_at), "by": report.seen_by}
    return ReportRow(report.note, reader.moment(report.at), report.photo_id, seen, offered)


def reported_on(wait: Wait, reports: Sequence[CorrectionReport], reader: Reader) -> str:
    """On an open wait of the builder's: that it is said to be corrected. The wait stays open."""
    since = [r.at for r in reports if r.at >= wait.taken_at]
    if wait.owed_by_kind != BUILDER or wait.cleared_at is not None or not since:
        return ""
    said = _("The builder reports it corrected, %s. To be read again: what is read decides.")
    return said % reader.moment(max(since))


def taken_by(photo: Photo) -> str:
    """A picture the builder sent is nobody's of ours, though it came through somebody's link."""
    return _("the builder") if hasattr(photo, "correction") else str(photo.by)
