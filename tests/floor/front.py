"""One address for several servers: connections are handed to each in turn, and past one that is gone.

What a load balancer in front does; here it only copies bytes, so that nothing of it can help the servers.
"""

from __future__ import annotations

import contextlib
import socket
import threading
from collections.abc import Sequence

from tests.floor.faults import free_port
from tests.served import Served


class Front(Served):
    """Asked like one server; ``servers`` may be killed and begun again meanwhile."""

    def __init__(self, servers: Sequence[Served]) -> None:
        self.servers, self.port, self.tls, self.turn = list(servers), free_port(), False, 0
        self.listener = socket.create_server(("127.0.0.1", self.port), backlog=128)
        threading.Thread(target=self._accept, daemon=True).start()

    def close(self) -> None:
        self.listener.close()

    def _accept(self) -> None:
        with contextlib.suppress(OSError):  # closed
            while True:
                asking, _ = self.listener.accept()
                threading.Thread(target=self._hand_over, args=[asking], daemon=True).start()

    def _hand_over(self, asking: socket.socket) -> None:
        self.turn += 1
        for number in range(len(self.servers)):
            server = self.servers[(self.turn + number) % len(self.servers)]
            with contextlib.suppress(OSError):
                answering = socket.create_connection(("127.0.0.1", server.port), timeout=30)
                break
        else:
            return asking.close()
        back = threading.Thread(target=_copy, args=[answering, asking], daemon=True)
        back.start()
        _copy(asking, answering)
        back.join()
        asking.close()
        answering.close()


def _copy(source: socket.socket, sink: socket.socket) -> None:
    with contextlib.suppress(OSError):
        while block := source.recv(65536):
            sink.sendall(block)
    with contextlib.suppress(OSError):
        sink.shutdown(socket.SHUT_WR)
