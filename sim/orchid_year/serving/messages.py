"""What a browser may say to the process behind a page: it may move widgets, and may not run code."""

from __future__ import annotations

import json
from typing import Any, Literal

from jupyter_server.services.kernels.connection.base import deserialize_binary_message, deserialize_msg_from_ws_v1
from jupyter_server.services.kernels.connection.channels import ZMQChannelsWebsocketConnection

# Widgets speak over comms; the two questions are asked when a page connects. Whatever is not named here is refused.
ALLOWED = frozenset({"comm_open", "comm_msg", "comm_close", "comm_info_request", "kernel_info_request"})
CHANNEL = "shell"


class OnlyWidgets(ZMQChannelsWebsocketConnection):
    """A page's connection to its kernel, which passes on ALLOWED alone."""

    def handle_incoming_message(self, incoming_msg: str | bytes) -> None:
        """Pass a message on, or drop it with a line in the log."""
        channel, kind = self._read(incoming_msg)
        if channel != CHANNEL or kind not in ALLOWED:
            self.log.warning("A page asked for %r on %r, which pages may not.", kind, channel)
            return
        super().handle_incoming_message(incoming_msg)

    def _read(self, message: str | bytes) -> tuple[object, object]:
        """(channel, type) of a message, read by the very functions that the library reads it with; (None, None) for none."""
        parts: list[Any] = []
        try:
            if self.subprotocol == "v1.kernel.websocket.jupyter.org":
                _check_count(message, 8, "little")
                channel, parts = deserialize_msg_from_ws_v1(message)
                header = self.get_part("header", None, parts)
            else:
                if isinstance(message, bytes):
                    _check_count(message, 4, "big")
                whole = deserialize_binary_message(message) if isinstance(message, bytes) else json.loads(message)
                channel, header = whole.get("channel"), whole["header"]
            kind = header["msg_type"]
        except Exception:  # whatever can't be read is not passed on
            return None, None
        return (channel, kind) if isinstance(kind, str) else (channel, None)


def _check_count(message: bytes, width: int, order: Literal["little", "big"]) -> None:
    """ValueError for a message shorter than the list of places that it announces: the library would count to any number.

    width  bytes of each number at the message's start: how many places there are, then the places
    """
    if len(message) < width or (int.from_bytes(message[:width], order) + 1) * width > len(message):
        raise ValueError("a message that announces more than it holds")
