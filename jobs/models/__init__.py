from jobs.models.company import OfficeSettings
from jobs.models.crews import Crew, CrewMember, DayOff, Equipment, OutOfUse
from jobs.models.custody import Custody
from jobs.models.finding import FindingEntry, FindingSpelling, FindingWord
from jobs.models.history import Change, Event, IdempotentAnswer, StageChange, Tally
from jobs.models.jobs import AccessCode, Job, Opening, Party
from jobs.models.people import AccessToken, User
from jobs.models.work import Assignment, Delivery, EarnedMinutes, TimeReport, Visit, Wait, WorkStep

__all__ = [
    "AccessCode", "AccessToken", "Assignment", "Change", "Crew", "CrewMember", "Custody", "DayOff", "Delivery",
    "EarnedMinutes", "Equipment", "Event", "FindingEntry", "FindingSpelling", "FindingWord", "IdempotentAnswer", "Job",
    "OfficeSettings", "Opening", "OutOfUse", "Party", "StageChange", "Tally", "TimeReport", "User", "Visit", "Wait",
    "WorkStep",
]
