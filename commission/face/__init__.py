"""
What the two faces share: the walk as a conversation (`dialogue`, `goals`), how things read (`wording`), and the report
of a job file (`job_file`, `report_file`).
"""
