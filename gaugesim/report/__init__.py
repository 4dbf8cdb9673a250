"""One page to carry to the vehicle: it needs nothing but itself."""

from gaugesim.report.page import job_page

__all__ = ["job_page"]
