"""
A short walk to the strokes and out again, cut from the packed checklist, and the answers for it.

Whole phases are left out so that a visit takes seconds; what is left is word for word the packed checklist's, so the
isolation, the proof of the commands, the crossings and the confirmations are the real ones.
"""

import re
import shutil
from pathlib import Path

from commission.content import checklists_folder

KEPT = (
    "B3", "B0-operation", "B0-live", "E5", "E7-live", "E7-control", "I1", "I2", "I3-commands",
    "J0", "K1", "K1-more-open", "Q4", "Q5", "Q6", "Q7",
)  # fmt: skip
"""The steps of the short walk."""

SHEET = checklists_folder() / "units" / "xv-1101.toml"
ANSWERS = checklists_folder() / "practice" / "xv-1101.toml"
CONFIRM = "3, 1101, Mara Mockford"
"""The count of the scenario, the digits of the plate, who says go."""

_STEP = "\n[[steps]]\n"
_STROKES = 2


def short_checklist(folder: Path) -> Path:
    """Write the short checklist, with what it includes beside it; K1 has one stroke each way."""
    for name in ("cautions.toml", "touched.toml"):
        shutil.copy(checklists_folder() / name, folder / name)
    head, *steps = (checklists_folder() / "commissioning.toml").read_text(encoding="utf-8").split(_STEP)
    kept = [_with_fewer_needs(step) for step in steps if _id_of(step) in KEPT]
    path = folder / "short.toml"
    path.write_text(_STEP.join([head.replace('name = "commissioning"', 'name = "short"', 1), *kept]), encoding="utf-8")
    return path


def answers(folder: Path, *, until_strokes: bool = False, more: str = "") -> Path:
    """
    Write the answers for it.

    Args:
        folder: Where.

        until_strokes: Leave out the confirmation of strokes: the walk ends where the first would begin.

        more: Answers that come before the packed ones.
    """
    text = ANSWERS.read_text(encoding="utf-8")
    if until_strokes:
        head, *entries = text.split("\n[[answers]]\n")
        text = "\n[[answers]]\n".join([head, *(entry for entry in entries if 'to = "confirm"' not in entry)])
    place = text.index("[[answers]]")
    path = folder / f"answers{len(list(folder.glob('answers*')))}.toml"
    path.write_text(f"{text[:place]}{more}\n{text[place:]}", encoding="utf-8")
    return path


def _id_of(step: str) -> str:
    found = re.search(r'^id = "([^"]+)"', step, re.MULTILINE)
    assert found is not None
    return found[1]


def _with_fewer_needs(step: str) -> str:
    """The step without what it needs of steps that are left out, and with the first two of its procedures."""

    def needs(found: "re.Match[str]") -> str:
        names = [name for name in re.findall(r'"([^"]+)"', found[1]) if name in KEPT]
        quoted = ", ".join(f'"{name}"' for name in names)
        return f"needs = [{quoted}]"

    step = re.sub(r"^needs = \[(.*)\]$", needs, step, flags=re.MULTILINE)
    strokes = re.findall(r"^    \{ name = \"full_stroke\".*\n", step, re.MULTILINE)
    for extra in strokes[_STROKES:]:
        place = step.rindex(extra)
        step = step[:place] + step[place + len(extra) :]
    return step
