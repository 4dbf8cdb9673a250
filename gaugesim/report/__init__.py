"""Pages to carry to the vehicle or into a class: each needs nothing but itself."""

from gaugesim.report.bench_html import bench_page
from gaugesim.report.job_html import job_page
from gaugesim.report.worksheet import results_page, try_paper, worksheet_pages

__all__ = ["bench_page", "job_page", "results_page", "try_paper", "worksheet_pages"]
