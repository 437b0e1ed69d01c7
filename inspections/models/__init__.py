from inspections.models.afterwards import Adjustment, Callback, ReturnTrip
from inspections.models.builders_link import BuilderLink, CorrectionReport
from inspections.models.checks import Check
from inspections.models.closing import Acceptance, PunchItem, SetAsidePart
from inspections.models.photos import Photo
from inspections.models.reminders import Message, Reminder
from inspections.models.site import Confirmation, Inspection, Joint, Reading
from inspections.models.standing import Countersignature, HoldPoint, Settlement
from inspections.models.walls import WallAgreement

__all__ = [
    "Acceptance", "Adjustment", "BuilderLink", "Callback", "Check", "Confirmation", "CorrectionReport",
    "Countersignature", "HoldPoint", "Inspection", "Joint", "Message", "Photo", "PunchItem", "Reading", "Reminder",
    "ReturnTrip", "SetAsidePart", "Settlement", "WallAgreement",
]
