"""
The report as a PDF for paper and archive: PDF/A-3a with PDF/UA-1 tags, the facts behind it attached as JSON.

The same contents give the same bytes, on any day and in any process.
"""

from datetime import datetime
from functools import lru_cache
from importlib import resources
from typing import Any, Literal

import msgspec

from commission.report.contents import Contents
from commission.report.glyphs import basic, clean

PAPERS = {"a4": "a4", "letter": "us-letter"}
"""Paper sizes by the name a person gives."""

Paper = Literal["a4", "letter"]


class ReportError(Exception):
    """The report could not be made as a PDF; the message says why."""


def make_pdf(contents: Contents, attachment: bytes, paper: Paper = "a4") -> bytes:
    """
    The report as PDF.

    Args:
        contents: What it says.

        attachment: The job's facts as JSON in UTF-8, attached as `record.json`.

        paper: `a4` or `letter`.

    Raises:
        ReportError: the paper is not known, the attachment is not UTF-8, or the PDF library refuses its input.
    """
    if paper not in PAPERS:
        raise ReportError(f"paper is one of {', '.join(PAPERS)}, not {paper!r}")
    try:
        record = attachment.decode()
    except UnicodeDecodeError as error:
        raise ReportError(f"the attachment is not UTF-8: byte {error.start}") from error
    return _compiled(contents, record, PAPERS[paper])


def _compiled(contents: Contents, record: str, paper: str) -> bytes:
    import typst  # noqa: PLC0415  # 80 MiB of library that only this command needs

    failure = ""
    for cleaning in (clean, basic):
        inputs = {
            "data": msgspec.json.encode(_page_data(contents, cleaning)).decode(),
            "record": record,
            "paper": paper,
        }
        try:
            return bytes(
                typst.compile(
                    _template(),
                    format="pdf",
                    pdf_standards=["a-3a", "ua-1"],
                    ignore_system_fonts=True,
                    timestamp=datetime.fromisoformat(contents.made_utc),
                    sys_inputs=inputs,
                )
            )
        except typst.TypstError as error:  # a glyph that the table of covered characters wrongly promises
            failure = str(error.message)
    raise ReportError(f"the PDF could not be made: {failure}")


@lru_cache(maxsize=1)
def _template() -> bytes:
    return resources.files("commission.report").joinpath("as_left.typ").read_bytes()


def _page_data(contents: Contents, cleaning: Any) -> dict[str, Any]:
    """The contents as plain data with every text cleaned; drawings are made of known characters but for run names."""
    data: dict[str, Any] = _cleaned(msgspec.to_builtins(contents), cleaning)
    named = {pair[0]: pair[1] for pair in data["identification"]}
    data["site"], data["service"] = named["site"], named["service"]
    return data


def _cleaned(value: Any, cleaning: Any) -> Any:
    if isinstance(value, str):
        return cleaning(value)
    if isinstance(value, dict):
        return {key: _cleaned(item, cleaning) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_cleaned(item, cleaning) for item in value]
    return value
