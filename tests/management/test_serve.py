"""The command that runs the app for the site."""

import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.core.management import CommandError
from django.db import connection

from buildlog.actions.sign_in import first_run_code
from buildlog.management.commands import serve

ROOT = Path(__file__).resolve().parents[2]


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@pytest.fixture
def taken_port() -> Iterator[int]:
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        listener.listen()
        yield listener.getsockname()[1]


def test_a_taken_port_is_refused_with_a_way_out(taken_port):
    with pytest.raises(CommandError, match=f"port {taken_port} .*for example --port {taken_port + 1}"):
        serve.refuse_taken_port("127.0.0.1", taken_port)


@pytest.mark.parametrize("port", [0, -1, 70_000])
def test_a_port_that_is_none_is_refused(port):
    with pytest.raises(CommandError, match="allowed: 1 to 65535"):
        serve.refuse_taken_port("127.0.0.1", port)


def test_a_free_port_passes():
    serve.refuse_taken_port("127.0.0.1", free_port())


@pytest.mark.django_db
def test_tables_that_are_up_to_date_pass():
    serve.refuse_old_tables()


@pytest.mark.django_db
def test_old_tables_are_refused():
    with connection.cursor() as cursor:
        cursor.execute("SELECT id FROM django_migrations WHERE app = 'buildlog' ORDER BY id DESC LIMIT 2")
        cursor.executemany("DELETE FROM django_migrations WHERE id = %s", cursor.fetchall())
    with pytest.raises(CommandError, match="2 changes are not applied. Run `python manage.py migrate`"):
        serve.refuse_old_tables()


@pytest.mark.django_db
def test_the_address_on_this_network_is_announced(monkeypatch, capsys):
    monkeypatch.setattr(serve, "own_addresses", lambda: ["192.168.1.50", "10.0.0.7"])
    serve.Command().announce("0.0.0.0", 8000)
    said = capsys.readouterr().out
    assert "http://192.168.1.50:8000/" in said
    assert "http://10.0.0.7:8000/" in said


@pytest.mark.django_db
def test_who_comes_first_is_told_how_to_make_an_account(capsys):
    serve.Command().announce("127.0.0.1", 8000)
    assert first_run_code() in capsys.readouterr().out


@pytest.mark.django_db
def test_a_terminal_that_draws_blocks_gets_a_code_to_scan(monkeypatch, capsys):
    monkeypatch.setattr(serve, "own_addresses", lambda: ["192.168.1.50"])
    monkeypatch.setattr(serve, "terminal_draws_blocks", lambda: True)
    serve.Command().announce("0.0.0.0", 8000)
    assert "█" in capsys.readouterr().out


# ---- the real thing -------------------------------------------------------------------------


def clean_environment(folder: Path) -> dict[str, str]:
    ours = ("BUILDLOG_", "DJANGO_", "DATABASE_URL")
    return {k: v for k, v in os.environ.items() if not k.startswith(ours)} | {"BUILDLOG_DATA": str(folder)}


@pytest.fixture(scope="module")
def running(tmp_path_factory) -> Iterator[tuple[subprocess.Popen, int]]:
    """The app as `make run` starts it, in a data folder of its own."""
    environment, port = clean_environment(tmp_path_factory.mktemp("data")), free_port()
    manage = [sys.executable, "manage.py"]
    subprocess.run([*manage, "migrate", "-v0"], cwd=ROOT, env=environment, check=True, timeout=120)
    server = subprocess.Popen(
        [*manage, "serve", "--host", "127.0.0.1", "--port", str(port)],
        cwd=ROOT, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
    )  # fmt: skip
    try:
        wait_until_it_answers(server, port)
        yield server, port
    finally:
        server.kill()
        server.wait()


def wait_until_it_answers(server: subprocess.Popen, port: int, seconds: float = 240) -> None:
    limit = time.monotonic() + seconds
    while time.monotonic() < limit:
        assert server.poll() is None, server.stdout.read()
        try:
            return socket.create_connection(("127.0.0.1", port), timeout=1).close()
        except OSError:
            time.sleep(0.2)
    raise AssertionError(f"no answer on port {port} within {seconds} s")


def ask(port: int, path: str, host: str | None = None):
    """The answer, whatever its status; redirects are followed."""
    request = urllib.request.Request(f"http://127.0.0.1:{port}{path}", headers={"Host": host} if host else {})
    try:
        return urllib.request.urlopen(request, timeout=120)
    except urllib.error.HTTPError as answer:
        return answer


def test_the_running_app_answers_under_its_own_names_only(running):
    _, port = running
    assert ask(port, "/").status < 500
    assert ask(port, "/", host="elsewhere.example").status == 400


def test_the_running_app_sends_its_policy(running):
    _, port = running
    assert "script-src 'self'" in ask(port, "/").headers["Content-Security-Policy"]


def test_static_files_are_there_under_hashed_names(running):
    _, port = running
    names = re.findall(r"/static/[\w/.-]+", ask(port, "/nowhere/").read().decode())
    assert names
    for name in names:
        answer = ask(port, name)
        assert answer.status == 200
        assert "immutable" in answer.headers["Cache-Control"]


def test_it_stops_when_told(running):
    server, _ = running
    server.send_signal(signal.SIGINT)
    assert server.wait(timeout=120) == 0
