"""What the page is told without asking: server-sent events."""

import asyncio
import json
from collections.abc import AsyncIterator

from fastapi import Request

from heatproof.doors.page.desk import Desk
from heatproof.doors.page.views import head

LOOK, QUIET = 1.0, 15  # s between looks at the files; looks without news before a sign of life


async def pulses(desk: Desk, request: Request) -> AsyncIterator[str]:
    """Version, pulse and progress whenever they change, at most 20 a second; a comment every 15 s.

    Looks at the project's files once a second, so that what an editor writes is noticed.
    """
    loop, changed = asyncio.get_running_loop(), asyncio.Event()

    def heard() -> None:
        loop.call_soon_threadsafe(changed.set)

    desk.listeners.append(heard)
    quiet = 0
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
                    "run": desk.run,
                    "changed": list(desk.away),
                    "text": head.progress_text(desk, desk.answer()),
                }
            yield f"data: {json.dumps(data)}\n\n"
            while not changed.is_set():
                try:
                    await asyncio.wait_for(changed.wait(), LOOK)
                except TimeoutError:
                    await asyncio.to_thread(desk.look_at_disk)
                    quiet += 1
                    if quiet % QUIET == 0:
                        yield ": still here\n\n"
            changed.clear()
            await asyncio.sleep(0.05)
    finally:
        desk.listeners.remove(heard)
