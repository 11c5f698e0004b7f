"""Where a server stands: its port, its token, its address, and whether it answers."""

from __future__ import annotations

import contextlib
import http.client
import os
import secrets
import socket

from ..errors import InputError

PORT, LOWEST, HIGHEST = 8765, 1024, 65535
HERE, EVERYWHERE = "127.0.0.1", "0.0.0.0"
_TRIES = 50  # ports


def fresh_token() -> str:
    """A new random token of 192 bits."""
    return secrets.token_hex(24)


def free_port(wanted: int, share: bool = False) -> int:
    """The wanted port, or the next free one above it; InputError when out of range or when none is free."""
    if not LOWEST <= wanted <= HIGHEST:
        raise InputError(f"--port must be from {LOWEST} to {HIGHEST} (got {wanted}). Please change it.")
    for port in range(wanted, min(wanted + _TRIES, HIGHEST + 1)):
        if is_free(port, EVERYWHERE if share else HERE):
            return port
    raise InputError(
        f"No port from {wanted} to {min(wanted + _TRIES, HIGHEST + 1) - 1} is free. Please choose another with --port."
    )


def is_free(port: int, listen: str) -> bool:
    """Whether nobody listens on a port here, and a server could."""
    with contextlib.closing(socket.socket()) as knock:
        knock.settimeout(0.5)  # some systems would let us bind beside a server that listens everywhere
        if knock.connect_ex((HERE, port)) == 0:
            return False
    with contextlib.closing(socket.socket()) as place:
        # Elsewhere than on POSIX it would take a port over; there it only forgives a server that has just closed.
        if os.name == "posix":
            place.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            place.bind((listen, port))
        except OSError:
            return False
    return True


def address(port: int, token: str, *, page: bool = False, host: str = HERE) -> str:
    """Where to point a browser."""
    return f"http://{host}:{port}/{'' if page else 'lab'}?token={token}"


def own_address() -> str:
    """The address of this computer in its network. A datagram socket only looks up the route; nothing is sent."""
    with contextlib.closing(socket.socket(socket.AF_INET, socket.SOCK_DGRAM)) as route:
        try:
            route.connect(("192.0.2.1", 9))  # an address set aside for documentation
            return route.getsockname()[0]
        except OSError:
            return socket.gethostname()


def status(port: int, path: str, token: str = "") -> int | None:
    """The status of an answer on this computer; None when nobody answers. Redirects aren't followed."""
    call = http.client.HTTPConnection(HERE, port, timeout=10)
    try:
        call.request("GET", path, headers={"Authorization": f"token {token}"} if token else {})
        return call.getresponse().status
    except (OSError, http.client.HTTPException):
        return None
    finally:
        call.close()
