"""The other end of a practice unit's control port: people on site, played from here."""

import asyncio
import json
from typing import Any

import msgspec

from commission.cli.answers_file import SiteAct
from commission.cli.output import Ending, Status
from commission.face.at_unit import Act, NotPossible

_TIMEOUT_S = 20.0


class Site:
    """
    The people beside a practice unit.

    Args:
        address: host:port of its control port.
    """

    def __init__(self, address: str) -> None:
        host, _, port = address.rpartition(":")
        if not host or not port.isdecimal():
            raise Ending(
                f"--site {address!r}: expected host:port, as the practice unit says when it starts", Status.USAGE
            )
        self._host, self._port = host, int(port)

    async def act(self, act: SiteAct) -> None:
        """
        Do one thing.

        Raises:
            Ending: the unit says that nobody could do it now.
        """
        await self._ask(_request(act))

    async def attempt(self, act: SiteAct) -> str:
        """
        Do one thing that the unit may refuse; `obeyed`, or `refused` with its reason.

        Raises:
            Ending: the practice unit does not answer.
        """
        reply = await self._asked(_request(act))
        return f"refused: {reply['error']}" if "error" in reply else "obeyed"

    async def read(self, name: str) -> Any:
        """
        Look at one thing.

        Raises:
            Ending: there is nothing of that name.
        """
        return (await self._ask({"read": name}))["value"]

    async def _ask(self, request: dict[str, Any]) -> dict[str, Any]:
        reply = await self._asked(request)
        if "error" in reply:
            raise Ending(f"at the practice unit: {request}: {reply['error']}", Status.USAGE)
        return reply

    async def _asked(self, request: dict[str, Any]) -> dict[str, Any]:
        try:
            async with asyncio.timeout(_TIMEOUT_S):
                reader, writer = await asyncio.open_connection(self._host, self._port)
                try:
                    writer.write(json.dumps(request).encode() + b"\n")
                    reply = json.loads(await reader.readline())
                finally:
                    writer.close()  # also where the look is given up, as when the app ends
                await writer.wait_closed()
        except (OSError, TimeoutError, ValueError) as error:
            raise Ending(f"nobody answers at the practice unit's site desk: {error}", Status.UNREACHED) from error
        return dict(reply)


def _request(act: SiteAct) -> dict[str, Any]:
    skipped = ("tried", "act", "value")
    fields = {name: given for name, given in msgspec.to_builtins(act).items() if given not in ("", 0.0)}
    beside = {name: given for name, given in fields.items() if name not in skipped}
    return {**beside, "act": act.act, "value": act.value}


class SiteHands:
    """
    The hands of somebody who practises, at the site desk of a practice unit.

    Args:
        site: The people beside it.
    """

    def __init__(self, site: Site) -> None:
        self._site = site

    async def act(self, act: Act) -> None:
        """
        Do one thing.

        Raises:
            NotPossible: nobody could do it now, or the unit is gone.
        """
        try:
            await self._site.act(SiteAct(act=act.act, value=act.value, which=act.which))
        except Ending as ending:
            raise NotPossible(str(ending).rpartition("}: ")[2]) from ending

    async def look(self, name: str) -> Any:
        """
        Look at one thing.

        Raises:
            NotPossible: there is nothing of that name, or the unit is gone.
        """
        try:
            return await self._site.read(name)
        except Ending as ending:
            raise NotPossible(str(ending).rpartition("}: ")[2]) from ending
