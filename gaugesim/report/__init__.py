"""One page to carry to the vehicle: it needs nothing but itself."""

from gaugesim.report.page import job_page
from gaugesim.report.worksheet import key_page, worksheet_page

__all__ = ["job_page", "key_page", "worksheet_page"]
