"""
What holds for every test: nothing is left behind, no user folder is touched, property tests are repeatable.

`--hypothesis-profile=deep` runs the property tests long.
"""

import asyncio
import functools
import gc
import inspect
import tempfile
import threading
from collections.abc import Callable, Coroutine, Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

_SHARED = {"deadline": None, "database": None, "suppress_health_check": [HealthCheck.too_slow]}

settings.register_profile("quick", max_examples=60, derandomize=True, **_SHARED)  # type: ignore[arg-type]  # one dict of two kinds of value
settings.register_profile("deep", max_examples=5000, **_SHARED)  # type: ignore[arg-type]  # as above
settings.load_profile("quick")

_FOLDERS = ("HOME", "USERPROFILE", "APPDATA", "LOCALAPPDATA")
_XDG = ("XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_STATE_HOME", "XDG_CACHE_HOME")
_DESCRIPTORS = Path("/proc/self/fd")
_GRACE_S = 2.0


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Let a test that is a coroutine fail where it leaves a task running."""
    for item in items:
        if isinstance(item, pytest.Function) and inspect.iscoroutinefunction(item.obj):
            item.obj = _no_task_left(item.obj)


def _no_task_left(test: Callable[..., Coroutine[Any, Any, None]]) -> Callable[..., Coroutine[Any, Any, None]]:
    @functools.wraps(test)
    async def watched(*args: Any, **kwargs: Any) -> None:
        before = asyncio.all_tasks()
        await test(*args, **kwargs)
        left = asyncio.all_tasks() - before
        assert not left, f"tasks left behind: {left}"

    return watched


@pytest.fixture(scope="session")
def homes(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the home folders are; beside the tests' own folders they would make each numbered one slower to name."""
    return tmp_path_factory.mktemp("homes")


@pytest.fixture(autouse=True)
def user_folders(homes: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The home folder of the test: empty, its own, and where every user folder lies."""
    home = Path(tempfile.mkdtemp(dir=homes))
    for name in _FOLDERS:
        monkeypatch.setenv(name, str(home))
    for name in _XDG:
        monkeypatch.setenv(name, str(home / name.lower()))
    return home


@pytest.fixture(autouse=True)
def nothing_left_behind() -> Iterator[None]:
    """Fail the test that leaves a thread, an open socket or file, or something in the working folder."""
    threads, descriptors, files = set(threading.enumerate()), _open_descriptors(), _working_folder()
    yield
    for thread in set(threading.enumerate()) - threads:
        thread.join(_GRACE_S)
    left_threads = [thread.name for thread in set(threading.enumerate()) - threads if thread.is_alive()]
    assert not left_threads, f"threads left behind: {left_threads}"
    if _open_descriptors() - descriptors:
        gc.collect()  # a transport that is closed but not yet collected still counts as open
    left = _open_descriptors() - descriptors
    assert not left, f"left open: {sorted(left)}"
    new = _working_folder() - files
    assert not new, f"left in the working folder: {sorted(new)}"


def _open_descriptors() -> set[tuple[str, str]]:
    """Sockets and files that are open, by number and what they are; empty where the system does not tell."""
    if not _DESCRIPTORS.is_dir():
        return set()
    found = set()
    for link in _DESCRIPTORS.iterdir():
        try:
            target = str(link.readlink())
        except OSError:  # the descriptor that listed the folder
            continue
        if target.startswith(("socket:", "/")) and not target.startswith(("/dev/", "/proc/")):
            found.add((link.name, target))
    return found


def _working_folder() -> set[str]:
    return {entry.name for entry in Path.cwd().iterdir() if not entry.name.startswith((".", "__"))}
