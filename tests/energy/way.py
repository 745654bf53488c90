"""Good evidence for whatever a crossing asks, and crossings walked with it: what the energy tests are made of."""

from functools import lru_cache
from typing import Any

from commission.content import checklists_folder
from commission.energy import Energy, EnergyState, Fact, Need, accept, begin, enter, missing
from commission.sheet import Sheet, load_sheet

TESS, OLLIE = "Tess Placeholder", "Ollie Sampleton"
AT = "2026-05-12T06:40:00+00:00"

_DETAILS: dict[str, dict[str, Any]] = {
    "word": {},
    "names": {"text": "Mara Mockford"},
    "count": {"count": 4},
    "lock": {"number": "L-07"},
    "place": {"how": "fail position", "stem_mark": "closed"},
    "meter": {"live_before_v": 24.1, "dead_v": 0.02, "live_after_v": 24.1},
}
_BARS = {"seen above zero": 104.0, "seen to fall": 31.0}


@lru_cache(maxsize=1)
def xv_1101() -> Sheet:
    """The sheet of the spring-return unit."""
    return load_sheet(checklists_folder() / "units" / "xv-1101.toml")[0]


def good(need: Need, by: str = TESS) -> Fact:
    """Evidence that satisfies a need."""
    details = _DETAILS.get(need.ask)
    if details is None:
        details = {"bar": _BARS.get(need.fact, 0.0), "read_on": "gauge", "minutes": 5}
    return Fact(need.fact, need.subject, by, AT, details)


def collected(energy: Energy, sheet: Sheet, by: str = TESS) -> Energy:
    """The crossing under way with all its evidence."""
    while needs := missing(energy, sheet):
        energy = accept(energy, sheet, good(needs[0], by))
    return energy


def crossed(energy: Energy, *targets: EnergyState, sheet: Sheet | None = None, by: str = TESS) -> Energy:
    """The state after walking to each target with all evidence."""
    unit = sheet or xv_1101()
    for target in targets:
        energy = enter(collected(begin(energy, target), unit, by), unit, by, AT)
    return energy


def at(state: EnergyState) -> Energy:
    """The unit in a state, reached the usual way from a new job."""
    ways = {
        EnergyState.UNKNOWN: (),
        EnergyState.IN_OPERATION: (EnergyState.IN_OPERATION,),
        EnergyState.LOCKED: (EnergyState.LOCKED,),
        EnergyState.PUMPING: (EnergyState.LOCKED, EnergyState.PUMPING),
        EnergyState.CONTROL: (EnergyState.LOCKED, EnergyState.CONTROL),
        EnergyState.LIVE: (EnergyState.LOCKED, EnergyState.CONTROL, EnergyState.LIVE),
    }
    return crossed(Energy(), *ways[state])
