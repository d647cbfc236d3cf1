"""What the page is told without asking: server-sent events."""

import asyncio
import json
from collections.abc import AsyncIterator

from fastapi import Request

from heatproof.doors.page.desk import Desk
from heatproof.doors.page.views import head


async def pulses(desk: Desk, request: Request) -> AsyncIterator[str]:
    """Version, pulse and progress whenever they change, at most 20 a second; a comment every 15 s."""
    loop, changed = asyncio.get_running_loop(), asyncio.Event()

    def heard() -> None:
        loop.call_soon_threadsafe(changed.set)

    desk.listeners.append(heard)
    try:
        while True:
            with desk.lock:
                p = desk.progress
                data = {
                    "version": desk.version,
                    "pulse": desk.pulse,
                    "full": desk.answer() is not None,
                    "answer": head.answer_name(desk),
                    "what": p.what,
                    "done": p.done,
                    "steps": p.steps,
                    "text": head.progress_text(desk, desk.answer()),
                }
            yield f"data: {json.dumps(data)}\n\n"
            changed.clear()
            try:
                await asyncio.wait_for(changed.wait(), 15.0)
                await asyncio.sleep(0.05)
            except TimeoutError:
                yield ": still here\n\n"
    finally:
        desk.listeners.remove(heard)
