"""
Conditions of a step on the sheet, as small tables: `{ action = "spring-return" }`, never expressions to evaluate.

A name is a field of the sheet, dotted where it lies deeper (`actuator.action`); a name without a dot is also looked for
in actuator, valve, behaviour and partial stroke; `role.NAME` asks whether the unit has a point of that role. `true`
means present (or true), `false` absent (or false), a list any of its items, any other value that value.
"""

import types
import typing
from collections.abc import Mapping
from typing import Any

import msgspec

from commission.sheet import ROLES, Sheet
from commission.sheet.model import Actuator, Behaviour, PartialStroke, Valve

_ALSO_IN: Mapping[str, type[msgspec.Struct]] = {
    "actuator": Actuator,
    "valve": Valve,
    "behaviour": Behaviour,
    "partial_stroke": PartialStroke,
}


def why_not(when: Mapping[str, Any], sheet: Sheet) -> str:
    """
    Why a step with these conditions does not apply to the unit, in words; empty where it does.

    Raises:
        KeyError: a name that no sheet has.
    """
    for name, wanted in when.items():
        found = _look_up(full_name(name), sheet)
        if not _meets(found, wanted):
            return f"{name} is {_in_words(found)}; the step is for {_in_words(wanted)} (from the sheet)"
    return ""


def full_name(name: str) -> str:
    """
    The whole dotted name of a field of the sheet.

    Raises:
        KeyError: no sheet has it.
    """
    if name.startswith("role."):
        if name.removeprefix("role.") not in ROLES:
            raise KeyError(name)
        return name
    if "." not in name and name not in Sheet.__struct_fields__:
        for part, kind in _ALSO_IN.items():
            if name in kind.__struct_fields__:
                return f"{part}.{name}"
    if not _exists(name.split("."), Sheet):
        raise KeyError(name)
    return name


def field(name: str, sheet: Sheet) -> object:
    """
    The value of a field of the sheet by its name; None where the sheet is silent.

    Raises:
        KeyError: no sheet has it.
    """
    return _look_up(full_name(name), sheet)


def _look_up(name: str, sheet: Sheet) -> object:
    if name.startswith("role."):
        return sheet.has(name.removeprefix("role."))
    found: object = sheet
    for part in name.split("."):
        found = None if found is None else getattr(found, part)
    return found


def _exists(parts: list[str], kind: Any) -> bool:
    if not parts:
        return True
    struct = _struct_in(kind)
    if struct is None or parts[0] not in struct.__struct_fields__:
        return False
    fields = {found.name: found.type for found in msgspec.structs.fields(struct)}
    return _exists(parts[1:], fields[parts[0]])


def _struct_in(kind: Any) -> type[msgspec.Struct] | None:
    options = typing.get_args(kind) if isinstance(kind, types.UnionType) else (kind,)
    for option in options:
        if isinstance(option, type) and issubclass(option, msgspec.Struct):
            return option
    return None


def _meets(found: object, wanted: object) -> bool:
    if isinstance(wanted, bool):
        return (found is not None and found is not False) is wanted
    if isinstance(wanted, list):
        return any(_meets(found, item) for item in wanted)
    return found == wanted


def _in_words(value: object) -> str:
    if isinstance(value, list):
        return " or ".join(_in_words(item) for item in value)
    if value is None or value is False:
        return "absent"
    if value is True or isinstance(value, msgspec.Struct):
        return "present"
    return str(value)
