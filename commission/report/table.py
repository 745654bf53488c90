"""A table of the report: texts only, ready to print anywhere."""

import msgspec

Row = tuple[str, ...]


class Table(msgspec.Struct, frozen=True, kw_only=True):
    """
    A table.

    Args:
        title: Its heading.

        columns: Headings of the columns.

        rows: One text a column.

        empty: What is printed where there is no row: never a blank.

        notes: Lines under it.
    """

    title: str
    columns: Row
    rows: tuple[Row, ...] = ()
    empty: str = "none"
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a row that does not fit its columns."""
        for row in self.rows:
            if len(row) != len(self.columns):
                raise ValueError(f"{self.title}: {len(row)} texts for {len(self.columns)} columns")
