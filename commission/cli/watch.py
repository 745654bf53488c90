"""`commission watch`: the points of a unit now, as a table: engineering value, raw registers, age."""

import argparse
import asyncio
import sys

from commission.cli import connecting, output
from commission.cli.output import Status
from commission.clock import NS_PER_S, Clock
from commission.face.reading_words import reading_words
from commission.link.faults import LinkError
from commission.link.ports import demand_quiet
from commission.link.unit import UnitLink
from commission.link.url import parse_url
from commission.sheet import ROLES, Sheet, load_sheet
from commission.sheet.decode import Readings


def run(chosen: argparse.Namespace) -> Status:
    """Read all points, again and again."""
    output.quiet_library_logs()
    sheet, _ = load_sheet(chosen.sheet)
    try:
        return asyncio.run(_watch(sheet, chosen.connect, 1 if chosen.json else chosen.times, as_json=chosen.json))
    except KeyboardInterrupt:
        return Status.DONE


async def _watch(sheet: Sheet, url: str, times: int, *, as_json: bool) -> Status:
    clock = Clock()
    address = parse_url(url)
    connecting.say_listening(address)
    await demand_quiet(address, clock)
    link = await UnitLink.connect(address, sheet, clock)
    roles = [point.role for point in sheet.points if not point.read_clears and point.write is None]
    output.say(_head(sheet, link))
    failures, reading = 0, 0
    try:
        while times == 0 or reading < times:
            reading += 1
            try:
                if not link.connected:
                    await link.reconnect()
                readings = await link.read(roles)
            except LinkError as error:
                failures += 1
                output.say(f"no reading: {error}")
                readings = None
                if as_json:
                    output.data_json({"tag": sheet.identity.tag, "error": str(error)})
            if readings is not None and as_json:
                output.data_json(_as_json(sheet, readings, clock))
            elif readings is not None:
                _redraw("\n".join(table_lines(sheet, readings, clock)))
            if times == 0 or reading < times:
                await clock.sleep_wire(1.0)
    finally:
        await link.close()
    return Status.UNREACHED if failures == reading else Status.DONE


def table_lines(sheet: Sheet, readings: Readings, clock: Clock) -> list[str]:
    """One line a point, with its value, unit or word, and age."""
    lines = [f"{'point':<34}{'value':>14} {'unit':<5}{'age s':>7}"]
    for point in sheet.points:
        reading = readings.get(point.role)
        if reading is None:
            continue
        role = ROLES[point.role]
        age_s = max(0.0, (clock.unit_ns() - reading.at_ns) / NS_PER_S)
        value, unit = reading_words(reading.value, point.role)
        lines.append(f"{role.label:<34}{value:>14} {unit:<5}{age_s:>7.1f}")
    return lines


def _head(sheet: Sheet, link: UnitLink) -> str:
    answer_ms = link.facts.round_trip.p50_s * 1000
    practice = "" if link.facts.practice is None else f"PRACTICE at speed {link.facts.practice.speed:g}; "
    return (
        f"{sheet.identity.tag} {sheet.identity.service}: {practice}answers in {answer_ms:.1f} ms. "
        "Reads only. Not a safety system."
    )


def _as_json(sheet: Sheet, readings: Readings, clock: Clock) -> dict[str, object]:
    points = {
        role: {
            "value": reading.value,
            "unit": ROLES[role].unit,
            "age_s": round(max(0.0, (clock.unit_ns() - reading.at_ns) / NS_PER_S), 4),
        }
        for role, reading in readings.by_role.items()
    }
    return {"tag": sheet.identity.tag, "at_utc": clock.utc().isoformat(), "points": points}


def _redraw(text: str) -> None:
    if sys.stdout.isatty():
        text = f"\x1b[H\x1b[J{text}"
    output.data(text)
