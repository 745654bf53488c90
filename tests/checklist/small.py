"""A small sound checklist in two files, and changes to it: what the checklist tests are made of."""

from commission.checklist import Checklist, parse_checklist
from commission.content import ContentError, Text

MAIN = """
format = 1
name = "Commissioning"
revision = "1"
include = ["cautions.toml"]
phases = [{ id = "B", name = "arrival" }, { id = "H", name = "ends" }, { id = "I", name = "energising" },
          { id = "K", name = "strokes" }]

[[steps]]
id = "B1"
title = "Read the tag plate"
state = "any"
do = "Read the plate aloud."
cautions = ["pinch"]
questions = [{ id = "serial", ask = "Serial on the plate", expects = "identity.serial" }]

[[steps]]
id = "H2"
title = "Set the closed limit"
state = "locked"
access = "inside, locked"
do = "Set the cam."
cautions = ["pinch"]
needs = ["B1"]
[[steps.questions]]
id = "gap"
ask = "Gap at the cam"
kind = "number"
unit = "mm"
least = "0.5"
most = "1.5"
origin = "sheet revision D"

[[steps]]
id = "I1"
title = "Go to live"
state = "control"
do = "Locks off."
cautions = ["pinch"]
crosses = "live"
moves = true

[[steps]]
id = "K1-close"
title = "Time the closing stroke"
state = "live"
moves = true
do = "Stroke it."
cautions = ["pinch"]
needs = ["H2", "I1"]
questions = [{ id = "now", ask = "Travel", kind = "measured", role = "travel" }]
procedures = [{ name = "full_stroke", arguments = { direction = "closed" }, times = 3 }]
"""

PART = """
format = 1
cautions = [{ id = "pinch", word = "WARNING", text = "Stem can move. No hand inside." }]
voids = [{ id = "closed-limit", touched = "limit cam", voids = ["K1", "H2", "L"] }]
temporary = [{ id = "setting", name = "raised setting" }]
"""


def texts(main: str = MAIN, part: str = PART) -> tuple[Text, ...]:
    """Both files."""
    return Text("main.toml", main), Text("cautions.toml", part)


def small() -> Checklist:
    """The sound checklist."""
    return parse_checklist(texts())


def problems_of(*changes: tuple[str, str]) -> list[str]:
    """What is wrong once the texts are changed so; each old text stands exactly once in one of them."""
    main, part = MAIN, PART
    for old, new in changes:
        assert main.count(old) + part.count(old) == 1, f"{old!r} does not stand exactly once"
        main, part = main.replace(old, new), part.replace(old, new)
    try:
        parse_checklist(texts(main, part))
    except ContentError as error:
        return [str(problem) for problem in error.problems]
    return []
