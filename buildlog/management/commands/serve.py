"""Run the app for the site: `python manage.py serve`."""

import os
import socket
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import segno
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection, connections

from buildlog.actions.sign_in import first_run_code
from buildlog.certificates import SAY_BEFORE, Files, certify, fingerprint, runs_out
from buildlog.management import service
from buildlog.management.asking import changes_waiting
from buildlog.management.beside import Beside
from buildlog.management.options import OptionParser, OptionsCommand
from buildlog.management.start import alone_on, close_to_others, refuse_damage, refuse_other_data
from buildlog.management.web_server import run_server
from buildlog.network import own_addresses


class Command(OptionsCommand):
    help = "Runs the app for the site, prints its address on this network and a QR code to join."

    def add_options(self, parser: OptionParser) -> None:
        # Behind a proxy only the proxy may reach the app: it vouches for https in a header.
        host = "127.0.0.1" if settings.TLS else "0.0.0.0"
        parser.add_argument("--host", default=host, help=f"address to listen on (default {host})")
        parser.add_argument("--port", type=int, default=8000, help="port to listen on (default 8000)")
        parser.add_argument(
            "--https", action="store_true", help="speak https with a certificate of this machine's own making"
        )
        parser.add_argument(
            "--accept-empty", action="store_true", help="start although another database was served from here before"
        )
        parser.add_argument(
            "--accept-new-secrets", action="store_true", help="start although the database was used with other secrets"
        )
        parser.add_argument(
            "--print-service", action="store_true", help="print a systemd unit that serves with these options, and end"
        )

    def handle(self, *args: str, host: str, port: int, https: bool, **options: Any) -> None:
        if options["print_service"]:
            return self.print_service(["--host", host, "--port", str(port), *(["--https"] if https else [])])
        if https and not settings.HTTPS:
            begin_again_with_https()
        with alone_on(settings.DATA_DIR):
            refuse_damage()
            self.check(databases=["default"])
            refuse_old_tables()
            refuse_other_data(empty=options["accept_empty"], new_secrets=options["accept_new_secrets"])
            files = [Path(connection.settings_dict["NAME"])] if connection.vendor == "sqlite" else []
            close_to_others(settings.DATA_DIR, *files)
            refuse_taken_port(host, port)
            self.run(host, port, https)

    def print_service(self, serve_options: list[str]) -> None:
        self.stdout.write(service.unit(serve_options), ending="")
        self.stderr.write(service.HOW_TO)

    def run(self, host: str, port: int, https: bool) -> None:
        call_command("collectstatic", interactive=False, verbosity=0)
        self.stdout.write(
            "Making ready (the first time, and after an update, the trials are compiled: a minute or two) …"
        )
        self.stdout.flush()
        warm_forecast()
        files = certified() if https else None
        self.announce(host, port, files)
        connections.close_all()
        with tending():
            run_server(host, port, files)

    def announce(self, host: str, port: int, files: Files | None = None) -> None:
        """The address for other devices, as text and, where the terminal can draw it, as a QR code."""
        addresses = own_addresses() if host == "0.0.0.0" else [host]
        scheme = "https" if files else "http"
        urls = [f"{scheme}://{address}:{port}/" for address in addresses]
        self.stdout.write("\nOpen on any device on this network:")
        for url in urls or [f"{scheme}://127.0.0.1:{port}/"]:
            self.stdout.write(f"  {url}")
        if urls and terminal_draws_blocks():
            segno.make(urls[0].upper(), error="m").terminal(compact=True)
        if code := first_run_code():
            self.stdout.write(f"Nobody has an account yet. Open /first-run/ there and give this code: {code}")
        if files:
            self.stdout.write(how_to_trust(files, datetime.now(UTC)))
        else:
            self.stdout.write("Plain http: use it only on a network whose users you know.")
        self.stdout.write("Stop with Ctrl+C.\n")
        self.stdout.flush()


def begin_again_with_https() -> None:
    """The settings are read already, and the workers inherit them: start this command anew with the switch set."""
    os.environ["BUILDLOG_HTTPS"] = "1"
    os.execv(sys.executable, [sys.executable, *sys.argv])


def certified() -> Files:
    """Authority and certificate for every name of this machine."""
    return certify(settings.DATA_DIR / "tls", settings.ALLOWED_HOSTS, datetime.now(UTC))


def how_to_trust(files: Files, now: datetime) -> str:
    until = runs_out(files.authority)
    soon = "  SOON: plan a moment at which all tablets are at hand.\n" if until < now + SAY_BEFORE else ""
    return (
        "\nEach tablet has to trust this machine's own authority once, or its browser warns:\n"
        f"  1. Bring the file {files.authority} onto the tablet, by cable or memory stick.\n"
        "  2. Open it there, or install it in the settings under certificates, as an authority (CA) for websites.\n"
        "     On an iPad, then also switch it on under General, About, Certificate Trust Settings.\n"
        f"  3. Compare its SHA-256: {fingerprint(files.authority)}\n"
        f"  4. It is good until {until:%d %B %Y}. The first start after that makes a new one.\n{soon}"
        "Never pass on the key beside it: whoever has it can pose as this site to these tablets."
    )


@contextmanager
def tending() -> Iterator[Beside]:
    """Forgotten stints and forecasts are looked after beside the app, in a process that yields to it."""
    manage = Path(settings.BASE_DIR) / "manage.py"
    helper = Beside([sys.executable, str(manage), "tend", "--beside", str(os.getpid())])
    try:
        yield helper
    finally:
        helper.end()


def refuse_old_tables() -> None:
    if waiting := changes_waiting():
        raise CommandError(
            f"The database is older than the program: {waiting} changes are not applied. "
            "Run `python manage.py migrate` first."
        )


def refuse_taken_port(host: str, port: int) -> None:
    if not 1 <= port <= 65535:
        raise CommandError(f"--port is {port}; allowed: 1 to 65535.")
    with socket.socket() as probe:
        # As the server does; otherwise a port just left would look taken for a minute.
        if sys.platform != "win32":
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as problem:
            raise CommandError(
                f"Cannot listen on {host} port {port} ({problem.strerror}). Another program may use it; "
                f"stop that one or choose another, for example --port {min(port + 1, 65535)}."
            ) from problem


def warm_forecast() -> None:
    """Compile the trials once, before two workers would each do it while someone waits."""
    from buildlog.core.forecast.result.warm import warm  # brings numba: not for `serve --help`

    warm()


def terminal_draws_blocks() -> bool:
    encoding = (sys.stdout.encoding or "").lower().replace("-", "")
    return sys.stdout.isatty() and encoding.startswith("utf")
