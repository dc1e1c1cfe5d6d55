"""A notebook server's line to the page that sends short messages at once.

A server joins short messages while the page has not confirmed the ones before, and a page confirms up to 40 ms late
(Nagle's algorithm meeting delayed acknowledgements: RFC 896 and RFC 1122, section 4.2.3.2).
What a chart needs is short, so each move of a slider waits those 40 ms. Start the server with this class to be rid
of them: `--ServerApp.kernel_websocket_connection_class=moldkit.views.widgets.prompt_socket.PromptSocket`.
"""

from __future__ import annotations

from typing import Any

from jupyter_server.services.kernels.connection.channels import ZMQChannelsWebsocketConnection


class PromptSocket(ZMQChannelsWebsocketConnection):
    """The server's usual line between a kernel and a page, but without the wait."""

    def connect(self) -> Any:  # the server's base classes disagree on the type of what is awaited
        """Open the line, and send from now on whatever there is to send."""
        self.websocket_handler.set_nodelay(True)
        return super().connect()
