"""The desk's server: at the loopback address and nowhere else, behind its guard, until it is stopped."""

import asyncio
import contextlib
import socket
import webbrowser
from pathlib import Path

from lostneutral.desk.desk import Desk
from lostneutral.desk.guard import Guard
from lostneutral.errors import UsageError

LOOPBACK = "127.0.0.1"


def listen(port: int = 0) -> socket.socket:
    """Return a socket that listens at the loopback address; UsageError if the port is taken."""
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        made.bind((LOOPBACK, port))
    except OSError as error:
        made.close()
        raise UsageError(f"--port {port}: cannot be used: {error.strerror} — give another number, or none for any free one") from None
    return made


def guarded(desk: Desk, port: int, token: str | None = None) -> Guard:
    """Return the whole application: the pages of `desk`, behind their guard."""
    from lostneutral.desk.views.page import application

    return Guard(application(desk), port, token)


def run(path: Path, port: int = 0, browser: bool = True, told=print, token: str | None = None) -> None:
    """Serve the desk of the case file `path` until it is stopped; `told(address)` when it can be opened."""
    with contextlib.closing(listen(port)) as ear:
        number = ear.getsockname()[1]
        with contextlib.suppress(KeyboardInterrupt):
            asyncio.run(_serve(path, ear, number, browser, told, token))


async def _serve(path, ear, port, browser, told, token):
    desk = Desk(path)
    guard = guarded(desk, port, token)
    import uvicorn

    server = uvicorn.Server(uvicorn.Config(guard, log_level="error", access_log=False, ws_max_size=4_000_000, lifespan="on",
                                           timeout_graceful_shutdown=1, server_header=False))
    desk.start()
    serving = asyncio.get_running_loop().create_task(server.serve(sockets=[ear]))
    try:
        while not server.started and not serving.done():
            await asyncio.sleep(0.02)
        told(guard.address)
        if browser:
            await asyncio.to_thread(webbrowser.open, guard.address)
        await serving
    finally:
        await desk.close()
