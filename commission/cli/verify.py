"""`commission verify`: is a job unaltered, and do its figures recompute?"""

import argparse
from collections import Counter
from pathlib import Path

import msgspec

from commission.cli import output
from commission.cli.output import Status
from commission.record.chain import check_chain
from commission.record.salvage import salvage
from commission.verify import JobCheck, Recomputed, verify_job


def run(chosen: argparse.Namespace) -> Status:
    """Verify each file; the worst status of all."""
    if chosen.salvage is not None:
        return _salvage(chosen.files, chosen.salvage, as_json=chosen.json)
    worst, found = Status.DONE, []
    for path in chosen.files:
        check = JobCheck(check_chain(path), signed=False, figures=()) if chosen.chain else verify_job(path)
        worst = max(worst, status_of(check))
        found.append(msgspec.to_builtins(check))
        _say(check, chain_only=chosen.chain)
    if chosen.json:
        output.data_json({"jobs": found, "status": int(worst)})
    return worst


def status_of(check: JobCheck) -> Status:
    """4 where the record was altered or damaged, 1 where a figure differs."""
    if not check.unaltered:
        return Status.DAMAGED
    return Status.DONE if check.recomputes else Status.DEVIATIONS


def _say(check: JobCheck, *, chain_only: bool) -> None:
    for sentence in check.chain.sentences:
        output.say(sentence)
    if check.trouble:
        output.say(check.trouble)
    if chain_only:
        return
    counted = Counter(figure.recomputed for figure in check.figures)
    words = ", ".join(f"{number} {kind}" for kind, number in counted.items()) or "none in this record"
    output.say(f"Figures recomputed: {words}.")
    for figure in check.figures:
        if figure.recomputed is not Recomputed.SAME:
            output.say(f"  {figure.test}, {figure.figure}: {figure.recomputed}; {figure.words}")


def _salvage(files: list[Path], out: Path, *, as_json: bool) -> Status:
    if len(files) != 1:
        raise output.Ending("salvage one job at a time", Status.USAGE)
    saved = salvage(files[0], out)
    output.say(f"Saved to {out}: all events up to {saved.intact_to} are proved, {saved.chunks} chunks of samples.")
    if saved.after_damage:
        output.say(f"Saved from beyond the damage: {len(saved.after_damage)} events, {len(saved.unproven)} unproven.")
    if saved.lost or saved.lost_chunks:
        output.say(f"Lost: {len(saved.lost)} events, {len(saved.lost_chunks)} chunks.")
    status = Status.DEVIATIONS if saved.lost or saved.lost_chunks else Status.DONE
    if as_json:
        output.data_json({"saved": str(out), **msgspec.to_builtins(saved), "status": int(status)})
    return status
