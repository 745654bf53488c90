"""What somebody types who goes on with a job in LIVE, up to the go of its first stroke."""

from tests.journeys.short_walk import CONFIRM

LOOK_AGAIN = (
    ("Who is at the keyboard?", "Tess Placeholder, technician"),
    ("Ready?", ""),
    ("Begin to bring the unit to LIVE?", ""),
    ("no lock is on, nobody is at the unit", "no lock on, nobody there"),
    ("Count everybody", "3"),
    ("may stay so", "Mara Mockford"),
    ("Is the unit now LIVE?", ""),
    ("Everything of this step is recorded", ""),
)
CONNECT = (
    ("Before connecting", "none"),
    ("Who in the control room agrees?", "Mara Mockford"),
)
TO_THE_STROKE = (*LOOK_AGAIN, *CONNECT, ("type the count of people", CONFIRM))
