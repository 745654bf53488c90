"""
JSON Schema of a sheet, for editors that complete and check TOML while it is typed.

The schema says less than `commission check`: it knows the fields, not what contradicts what.
"""

from typing import Any

import msgspec

from commission.sheet.model import Sheet

DIALECT = "https://json-schema.org/draft/2020-12/schema"
"""Name of the JSON Schema dialect; never fetched."""


def sheet_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of a sheet; an unknown field is an error, as it is in `parse_sheet`."""
    return schema_of(Sheet, "Sheet of a unit")


def schema_of(kind: type[msgspec.Struct], title: str) -> dict[str, Any]:
    """
    JSON Schema (draft 2020-12) of the tables of one struct.

    Args:
        kind: What the whole file is read as.

        title: What an editor shows.
    """
    (reference,), components = msgspec.json.schema_components([kind], ref_template="#/$defs/{name}")
    for component in components.values():
        if "properties" in component:
            component["additionalProperties"] = False
    return {"$schema": DIALECT, "title": title, **reference, "$defs": components}
