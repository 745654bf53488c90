"""The folder of jobs: the one that was asked for, or the user's own."""

import argparse
from pathlib import Path


def folder_of(chosen: argparse.Namespace) -> Path:
    """The folder of jobs: the one asked for, or the user's."""
    for name in ("folder", "out"):
        asked: Path | None = getattr(chosen, name, None)
        if asked is not None:
            return asked
    import platformdirs  # noqa: PLC0415  # only where no folder is named

    return Path(platformdirs.user_documents_dir()) / "commission"
