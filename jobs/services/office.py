"""Office records: made, changed and removed under a version, so that two people never overwrite each other."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, TypeVar

from django.core.exceptions import ValidationError
from django.db import IntegrityError, models
from django.db.models import F, ProtectedError

from jobs.acts import Act, carry_out
from jobs.calc.days import is_a_slip
from jobs.errors import RIGHT_DAY, Invalid, Refusal, SomeoneWasFaster
from jobs.models import Job, Opening
from jobs.models.base import OfficeRecord
from jobs.services import finding
from jobs.services.access import require

Record = TypeVar("Record", bound=models.Model)


def create(act: Act, model: type[Record], values: Mapping[str, Any], *, record: str,
           may: str = "keep office records") -> Record:
    """A new office record. `record` is its plural name in the API, for the feed."""
    require(act, may)
    plain, many = _split(model, values)
    with carry_out(act) as done:
        made = model(**plain)
        if isinstance(made, OfficeRecord):
            made.created_at = act.now
        _checked(made, plain)
        _saved(made, force_insert=True)
        for name, rows in many.items():
            getattr(made, name).set(rows)
        finding.keep_up(made)
        done.note(act, f"{_name(model)} made", record, made.pk, **_where(made))
    return made


def change(act: Act, found: Record, values: Mapping[str, Any], *, version: int, record: str,
           may: str = "keep office records") -> Record:
    """Changes what is given and nothing else, if `version` is still the one that stands."""
    require(act, may)
    plain, many = _split(type(found), values)
    with carry_out(act) as done:
        claimed = type(found)._default_manager.filter(pk=found.pk, version=version).update(version=F("version") + 1)
        if not claimed:
            raise SomeoneWasFaster(f"This {_name(type(found))} was changed by somebody else. Read it again, then "
                                   "change it.")
        found.refresh_from_db()
        for name, value in plain.items():
            setattr(found, name, value)
        _checked(found, plain)
        _saved(found, update_fields=list(plain) or None)
        for name, rows in many.items():
            getattr(found, name).set(rows)
        finding.keep_up(found, plain)
        done.note(act, f"{_name(type(found))} changed", record, found.pk, fields=sorted(values), **_where(found))
    return found


def remove(act: Act, found: models.Model, *, version: int, record: str, may: str = "keep office records") -> None:
    """Removes a record nothing stands on yet."""
    require(act, may)
    with carry_out(act) as done:
        where, key = _where(found), found.pk
        if "opening" in where:  # before whatever stands on it is looked for: acts hold it while they record something
            Opening.objects.select_for_update().filter(pk=where["opening"].pk).first()
        # Claimed, and not only looked at: whoever changes it in the same moment is not deleted unread.
        stands = type(found)._default_manager.filter(pk=found.pk, version=version)
        if not stands.update(version=F("version") + 1):
            raise SomeoneWasFaster(f"This {_name(type(found))} was changed by somebody else. Read it again first.")
        where.pop("opening", None)
        words = finding.words_at(key) if isinstance(found, Opening) else []
        try:
            found.delete()
        except ProtectedError as why:
            raise Refusal(f"Work was recorded on this {_name(type(found))}; it stays.", code="in-use") from why
        finding.forget(words)
        done.note(act, f"{_name(type(found))} removed", record, key)


def _split(model: type[models.Model], values: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    elsewhere = [name for name in values if not model._meta.get_field(name).editable]
    if elsewhere:  # a stage, a version: written by the acts they belong to and by nobody else
        raise Invalid("This is not written by hand.", fields=dict.fromkeys(elsewhere, "leave it out"))
    many = {f.name for f in model._meta.many_to_many}
    return ({k: v for k, v in values.items() if k not in many}, {k: v for k, v in values.items() if k in many})


# By how the name of a constraint ends: the field at fault, and what would be right. Others say it themselves.
_RIGHT = {
    "_ends_after": ("to_day", "the first day or later"),
    "_crew_or_person": ("crew", "either a crew or a person"),
    "job_contract": ("contract_cents", "nought or more"),
    "_track_from_one": ("track", "1 or more; 1 is the outermost"),
    "_roller_travel": ("roller_highest", "not below the lowest"),
    "_lean_in_angle": ("lean_in_angle", "degrees from upright, more than 0 and less than 90"),
    "_shipped_once": ("code", "there is one already; change that"),
    "_once_a_system": ("code", "this door system has one already; change that"),
    "_once_a_job": ("code", "this job has one already; change that"),
    "_tag_unique_in_job": ("tag", "this job has an opening with this tag already"),
    "_letter_unique_in_unit": ("letter", "this unit has a panel with this letter already"),
    "part_once_in_unit": ("name", "this unit lists a part of this kind and name already; change that"),
    "_wanted_from_one": ("wanted", "1 or more"),
    "_panel_by_itself": ("kind", "a panel, one piece: it is listed for a panel of this unit"),
    "_order_unique_in_unit": ("hanging_order", "another panel of this unit is hung in this place"),
    "_once_a_stage": ("stage", "this opening has a work step for this stage already; change that"),
    "member_once_a_day": ("from_day", "this person is on this crew from this day already"),
    "_edition_once": ("edition", "this edition is here already; change that"),
    "_system_or_job": ("system", "a door system or a job, not both"),
}


def _checked(record: models.Model, given: Iterable[str]) -> None:
    slips = {name: RIGHT_DAY for name in given if type(value := getattr(record, name)) is dt.date and is_a_slip(value)}
    if slips:
        raise Invalid("Something in it cannot be right.", fields=slips)
    try:
        record.full_clean(validate_constraints=False)
    except ValidationError as why:
        words = {("" if k == "__all__" else k): " ".join(v) for k, v in why.message_dict.items()}
    else:
        words = dict(_broken(record))
    if words:
        raise Invalid("Something in it cannot be right.", fields=words)


def _broken(record: models.Model) -> Iterator[tuple[str, str]]:
    for constraint in record._meta.constraints:
        try:
            constraint.validate(type(record), record)
        except ValidationError as why:
            known = (right for end, right in _RIGHT.items() if constraint.name.endswith(end))
            yield next(known, ("", " ".join(why.messages)))


def _saved(record: models.Model, **how: Any) -> None:
    try:
        record.save(**how)
    except IntegrityError as why:  # another one came in between the check and the write
        raise Invalid("Another record has this already.",
                      fields={"": "read what is there, then send it again"}) from why


def _name(model: type[models.Model]) -> str:
    return str(model._meta.verbose_name)


def _where(record: models.Model) -> dict[str, Any]:
    """Which opening or job the feed shows this under."""
    if isinstance(record, Opening):
        return {"opening": record}
    opening = getattr(record, "opening", None)
    if opening is not None:
        return {"opening": opening}
    if isinstance(record, Job):
        return {"job": record}
    job = getattr(record, "job", None)
    return {} if job is None else {"job": job}
