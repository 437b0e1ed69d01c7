"""The builder's link: made, opened, revoked; reported corrected through it, and taken note of.

Its address is signed, so that one altered by a character is like one that never was. A report closes nothing.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import uuid
from zoneinfo import ZoneInfo

from django.core.signing import Signer
from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils.crypto import constant_time_compare

from inspections import imaging, photos_store
from inspections.models import BuilderLink, CorrectionReport, Inspection, Photo
from inspections.services.inspecting import when
from inspections.services.photos import picture_file
from inspections.services.waits import BUILDERS_READINGS
from jobs.acts import Act, Done, carry_out
from jobs.errors import Gone, Invalid, NotThere, Refusal
from jobs.models import Change, Opening
from jobs.models.base import new_id
from jobs.services.access import locked, require
from jobs.services.entries import fingerprint, had_already

MAY_KEEP, MAY_NOTE = "keep builder's links", "take note of a correction"
USUAL_DAYS, MOST_DAYS = 14, 90
MOST_REPORTS = 20  # through one link
LONGEST_NOTE = 1000
NAME = 32  # letters of an id in the address; the signature follows
OPENED_AGAIN_AFTER = dt.timedelta(minutes=1)
EXPIRED, REVOKED, READ_AGAIN = "link-expired", "link-revoked", "read-again-since"
REPORTED = "builder reports it corrected"


def make_link(act: Act, opening_id: int, *, until: dt.date | None = None,
              entry_id: uuid.UUID | None = None) -> BuilderLink:
    """One opening's report for the builder, through the whole of the day `until`, on the job's clock."""
    mark = fingerprint("builder-link", opening_id, until)
    with carry_out(act) as done:
        opening = locked(opening_id)
        require(act, MAY_KEEP, opening)
        had = had_already(BuilderLink, entry_id, mark)
        if had is not None:
            return had
        link = BuilderLink.objects.create(id=entry_id or new_id(), opening=opening, fingerprint=mark,
                                          expires_at=_end_of(act, opening, until), **when(act))
        done.note(act, "builder's link made", "builder-links", link.pk, opening=opening)
    return link


def revoke_link(act: Act, link_id: uuid.UUID) -> BuilderLink:
    """From now on it opens nothing. Revoking twice changes nothing."""
    with carry_out(act) as done:
        link = _link(link_id)
        require(act, MAY_KEEP, link.opening)
        if BuilderLink.objects.filter(pk=link.pk, revoked_at=None).update(revoked_at=act.now, revoked_by=act.user):
            done.note(act, "builder's link revoked", "builder-links", link.pk, opening=link.opening)
        link.refresh_from_db()
    return link


def report_corrected(token: str, now: dt.datetime, *, note: str, picture: bytes = b"",
                     entry_id: uuid.UUID | None = None) -> CorrectionReport:
    """The builder says it is put right. Waits stay open, no gate is changed: the crew is asked to read again."""
    link = link_of(token, now)
    _check_note(note)
    mark = fingerprint("correction", str(link.pk), note, hashlib.sha256(picture).hexdigest() if picture else "")
    had = had_already(CorrectionReport, entry_id, mark)
    if had is not None:
        return had
    report = CorrectionReport(id=entry_id or new_id(), link=link, note=note, at=now, fingerprint=mark,
                              photo=_photo(link, now, note, picture) if picture else None)
    with carry_out(None) as done:
        opening = locked(link.opening_id)
        had = had_already(CorrectionReport, report.pk, mark)
        if had is not None:
            return had
        _still_holds(_link(link.pk), now)  # as it stands under the lock
        if link.reports.count() >= MOST_REPORTS:
            raise Refusal(f"Through this link it was said {MOST_REPORTS} times already. Tell them some other way.")
        if report.photo is not None:
            report.photo.save(force_insert=True)
        report.save(force_insert=True)
        _note_by_the_builder(done, report, opening)
    return report


def take_note(act: Act, report_id: uuid.UUID) -> CorrectionReport:
    """Somebody of ours has seen it. Who was first stays."""
    with carry_out(act) as done:
        report = CorrectionReport.objects.select_related("link__opening__job").filter(pk=report_id).first()
        if report is None:
            raise NotThere("There is no such report.")
        require(act, MAY_NOTE, report.link.opening)
        if CorrectionReport.objects.filter(pk=report.pk, seen_at=None).update(seen_at=act.now, seen_by=act.user):
            done.note(act, "correction taken note of", "correction-reports", report.pk, opening=report.link.opening)
        report.refresh_from_db()
    return report


# ---- the address ------------------------------------------------------------------------------------------


def token_of(link: BuilderLink) -> str:
    """What stands in the address: the link's id, signed."""
    return link.pk.hex + _signature(link)


def link_of(token: str, now: dt.datetime) -> BuilderLink:
    """The link of this address, if it holds. What was altered is not there, whatever it was before."""
    try:
        link = _link(uuid.UUID(hex=token[:NAME]))
    except (ValueError, NotThere):
        link = None
    # Compared as text: an id is read with capitals as well, and a signature's last letter has bits to spare.
    if link is None or not constant_time_compare(token, token_of(link)):
        raise NotThere("There is no such link.")
    _still_holds(link, now)
    return link


def note_opened(link: BuilderLink, now: dt.datetime) -> None:
    """That somebody looked; not every time within a minute."""
    BuilderLink.objects.filter(Q(last_opened_at=None) | Q(last_opened_at__lt=now - OPENED_AGAIN_AFTER),
                               pk=link.pk).update(last_opened_at=now)


def last_day(link: BuilderLink) -> dt.date:
    """The last day it holds, on the job's clock."""
    return (link.expires_at.astimezone(ZoneInfo(link.opening.job.time_zone)) - dt.timedelta(seconds=1)).date()


def _signature(link: BuilderLink) -> str:
    return Signer(salt=f"builder-link {link.salt}").signature(link.pk.hex)


def told_whether_read_again() -> QuerySet[BuilderLink]:
    """Links that know whether their opening was read again since they were made."""
    since = Inspection.objects.filter(opening=OuterRef("opening"), server_time__gt=OuterRef("server_time"),
                                      kind__in=BUILDERS_READINGS)
    return BuilderLink.objects.annotate(read_again=Exists(since))


def why_ended(link: BuilderLink, now: dt.datetime) -> str:
    """The code of why it opens nothing any more; nothing while it holds."""
    if link.revoked_at is not None:
        return REVOKED
    if now >= link.expires_at:
        return EXPIRED
    return READ_AGAIN if link.read_again else ""


def _link(link_id: uuid.UUID) -> BuilderLink:
    link = told_whether_read_again().select_related("opening__job", "by").filter(pk=link_id).first()
    if link is None:
        raise NotThere("There is no such link.")
    return link


ENDED = {REVOKED: "This link was taken back.", EXPIRED: "This link has ended.",
         READ_AGAIN: "The opening was read again since."}


def _still_holds(link: BuilderLink, now: dt.datetime) -> None:
    why = why_ended(link, now)
    if why:
        raise Gone(ENDED[why], code=why, fields={"until": last_day(link).isoformat()} if why == EXPIRED else {})


# ---- what it is made of -----------------------------------------------------------------------------------


def _end_of(act: Act, opening: Opening, until: dt.date | None) -> dt.datetime:
    today = act.today(opening.job.time_zone)
    until = today + dt.timedelta(days=USUAL_DAYS) if until is None else until
    latest = today + dt.timedelta(days=MOST_DAYS)
    if not today <= until <= latest:
        raise Invalid(f"A link holds from today until some day within {MOST_DAYS} days.",
                      fields={"until": f"a day from {today.isoformat()} to {latest.isoformat()}"})
    return dt.datetime.combine(until + dt.timedelta(days=1), dt.time(), ZoneInfo(opening.job.time_zone))


def _check_note(note: str) -> None:
    if not note.strip() or len(note) > LONGEST_NOTE or "\x00" in note:
        raise Invalid("Say what was done.", fields={
            "note": f"what was ground, filled or moved, in at most {LONGEST_NOTE} letters"})


def _photo(link: BuilderLink, now: dt.datetime, note: str, data: bytes) -> Photo:
    """Its file is kept before its row is. It counts as evidence for no check."""
    picture = imaging.read(data)
    photo = Photo(opening=link.opening, by=link.by, taken_at=now, server_time=now, caption=note[:240],
                  sha256=hashlib.sha256(data).hexdigest(), width=picture.width, height=picture.height,
                  size=len(picture.data))
    photos_store.keep(picture_file(photo), picture.data)
    return photo


def _note_by_the_builder(done: Done, report: CorrectionReport, opening: Opening) -> None:
    """A line of the feed by nobody of ours."""
    done.lines.append(Change(at=report.at, what=REPORTED, record="correction-reports", record_id=str(report.pk),
                             opening_id=opening.pk, job_id=opening.job_id, by_id=None, more={}))
