"""What a checklist says of a watch: how long it lasts, and which of its figures are limited."""

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation

from commission.analysis.decision import Limits

_DAY_MIN = 24 * 60


def minutes_s(arguments: Mapping[str, str], what: str) -> float:
    """
    The argument `minutes`, in seconds.

    Args:
        arguments: Of the procedure.

        what: What it is the length of, for whoever wrote the checklist.

    Raises:
        ValueError: `minutes` is not a number above zero and below a day.
    """
    text = arguments.get("minutes", "")
    try:
        minutes = float(text)
    except ValueError:
        minutes = 0.0
    if not 0 < minutes < _DAY_MIN:
        raise ValueError(f"minutes: {what}, above 0 and below a day, not {text!r}")
    return 60 * minutes


def upper_limits(arguments: Mapping[str, str], known: Mapping[str, tuple[str, int]]) -> tuple[tuple[str, Limits], ...]:
    """
    The upper limits that are given, each with the figure it is of.

    Args:
        arguments: Of the procedure.

        known: For each argument: its figure, and by how many places the decimal point moves.

    Raises:
        ValueError: none of them is given, or one is no number.
    """
    found = []
    for name, (figure, places) in known.items():
        text = arguments.get(name, "")
        if not text:
            continue
        try:
            found.append((figure, Limits(high=format(Decimal(text).scaleb(places), "f"))))
        except InvalidOperation:
            raise ValueError(f"{name}: a number, not {text!r}") from None
    if not found:
        raise ValueError(f"a limit: {', '.join(known)}")
    return tuple(found)
