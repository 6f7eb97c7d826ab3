"""A server group that is killed and started anew within milliseconds: `python -m tests.floor.server PORT`.

This process loads the app once and never serves. For each line on its input it forks a group of its own: a leader
that listens on the port and two workers of four threads; the leader says the number of that group once the port
takes connections. Killing the group kills all of it at once, whatever it was doing.
"""

from __future__ import annotations

import importlib
import os
import signal
import sys
import threading
import time
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer

WORKERS, THREADS = 2, 4


class Silent(WSGIRequestHandler):
    def log_message(self, *args) -> None:
        pass


class Quiet(WSGIServer):
    request_queue_size = 128

    def handle_error(self, request, client_address) -> None:
        pass  # a tablet that went away in the middle


def load():
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.floor.server_settings"
    from django.conf import settings
    from django.core.wsgi import get_wsgi_application

    application = get_wsgi_application()
    importlib.import_module(settings.ROOT_URLCONF)  # so that no worker has to

    if guard := os.environ.get("WITHOUT_GUARD"):
        from tests.floor.guards import TAKEN_AWAY

        TAKEN_AWAY[guard]()
    return application


def start_group(port: int, application) -> None:
    parent = os.getpid()
    if os.fork():
        return
    os.setsid()
    signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    server = listen(port)
    server.set_app(application)
    print(os.getpid(), flush=True)
    working = {fork_worker(server) for _ in range(WORKERS)}
    while os.getppid() == parent:
        died, _ = os.waitpid(-1, os.WNOHANG)
        if died in working:  # by itself, not with its group
            working = working - {died} | {fork_worker(server)}
        time.sleep(0.02)
    os.killpg(0, signal.SIGKILL)  # the tests are gone: leave nothing behind


def fork_worker(server: WSGIServer) -> int:
    worker = os.fork()
    if worker == 0:
        serve(server)
    return worker


def listen(port: int) -> WSGIServer:
    """The port may still be held for a moment by those that were just killed."""
    for _ in range(500):
        try:
            return Quiet(("127.0.0.1", port), Silent)
        except OSError:
            time.sleep(0.01)
    print(0, flush=True)
    os._exit(1)


def serve(server: WSGIServer) -> None:
    def one() -> None:
        while True:
            server._handle_request_noblock()

    for _ in range(THREADS):
        threading.Thread(target=one, daemon=True).start()
    signal.pause()


def main(port: int) -> None:
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # nobody waits for those that were killed
    application = load()
    print("loaded", flush=True)
    for _ in sys.stdin:
        start_group(port, application)


if __name__ == "__main__":
    main(int(sys.argv[1]))
