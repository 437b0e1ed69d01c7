"""The reports there are, in the order they are offered."""

from dashboard.reports.hours import HOURS
from dashboard.reports.punch import PUNCH
from dashboard.reports.report import Report
from dashboard.reports.stages import STAGES
from dashboard.reports.waits import WAITS

REPORTS: dict[str, Report] = {report.key: report for report in (STAGES, HOURS, WAITS, PUNCH)}
