"""
One visit to one unit: record, job, walk, link and supervisor put together. Both faces call this and nothing below it.

`open_job` is the file and where the visit stands by it, `connection` the line, `visit` what moves the valve.
"""

from commission.visit.open_job import OpenJob, VisitError
from commission.visit.visit import Visit

__all__ = ["OpenJob", "Visit", "VisitError"]
