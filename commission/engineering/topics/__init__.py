"""Everything that follows from a sheet, by topic: what `commission expected` prints."""

from commission.engineering.expectation import Topic
from commission.engineering.topics.electrical import electrical
from commission.engineering.topics.forces import forces
from commission.engineering.topics.line import line
from commission.engineering.topics.oil import oil
from commission.engineering.topics.probability import probability
from commission.engineering.topics.protections import protections
from commission.engineering.topics.stored import stored
from commission.engineering.topics.strokes import strokes
from commission.engineering.topics.volumes import volumes
from commission.engineering.unit import Unit
from commission.sheet.model import Sheet

TOPICS = (volumes, forces, strokes, stored, oil, electrical, protections, line, probability)
"""In the order in which they are printed."""


def topics_of(sheet: Sheet) -> tuple[Topic, ...]:
    """
    Every topic of a sheet, empty ones left out.

    Raises:
        ValueError: the sheet contradicts itself.
    """
    unit = Unit(sheet)
    found = (topic(unit) for topic in TOPICS)
    return tuple(topic for topic in found if topic.expected or topic.lacks)
