"""Settings that follow from the slowest legitimate stroke, beside those of the sheet."""

from commission.engineering.expectation import Gathering, Topic, plain
from commission.engineering.proposals import Proposal, proposals
from commission.engineering.unit import Unit

_NAMES = {
    "travel_timeout_open_s": "travel time-out, opening",
    "travel_timeout_close_s": "travel time-out, closing",
    "run_limit_s": "run-time limit",
    "starts_allowed": "starts allowed in the window",
}


def protections(unit: Unit) -> Topic:
    """Proposed settings; the note says how the sheet's setting stands."""
    found = Gathering("Protections")
    for proposal in proposals(unit):
        name = _NAMES[proposal.name]
        unit_text = f" {proposal.unit}".rstrip()
        digits = 3 if proposal.unit else 0
        span = f"{plain(proposal.least, digits)} to {plain(proposal.most, digits)}{unit_text}"
        found.add(
            f"setting.{proposal.name}",
            f"{name}, as set",
            proposal.setting,
            proposal.unit,
            _origin(proposal),
            digits=digits,
            note=f"proposed {span}; {proposal.verdict}",
        )
    if unit.sheet.supply.phases == "DC":
        found.needs("the slowest stroke at low supply", supply__lowest_v=unit.sheet.supply.lowest_v)
    if unit.sheet.supply.power_kw is None:
        found.lack("supply.power_kw", "starts that the motor stands")
    return found.topic


def _origin(proposal: Proposal) -> str:
    return f"sheet, beside {proposal.because}"
