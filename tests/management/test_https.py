"""`serve --https`: the running app over its own certificate, and what it tells people about trusting it."""

from __future__ import annotations

import os
import signal
import socket
import ssl
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from buildlog.certificates import Files, certify
from tests.management.test_serve import free_port
from tests.served import Served

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def served(tmp_path):
    port = free_port()
    environment = os.environ | {
        "BUILDLOG_DATA": str(tmp_path),
        "DATABASE_URL": f"sqlite:///{tmp_path}/db.sqlite3",
        "DJANGO_SETTINGS_MODULE": "buildlog.settings",
    }
    manage = [sys.executable, str(ROOT / "manage.py")]
    subprocess.run([*manage, "migrate", "--verbosity", "0"], env=environment, check=True)
    heard = tmp_path / "heard.txt"
    with heard.open("w") as out:
        process = subprocess.Popen(
            [*manage, "serve", "--https", "--host", "127.0.0.1", "--port", str(port)],
            env=environment, stdout=out, stderr=out, start_new_session=True,
        )  # fmt: skip
    yield f"https://127.0.0.1:{port}", tmp_path, heard
    os.killpg(process.pid, signal.SIGTERM)
    process.wait(120)


def fetch(url: str, authority: Path):
    trust = ssl.create_default_context(cafile=authority)
    end = time.monotonic() + 240  # the first start compiles the trials
    while True:
        try:
            return urllib.request.urlopen(url, context=trust, timeout=5)
        except (OSError, ValueError):
            assert time.monotonic() < end, "the app did not come up"
            time.sleep(0.2)


def test_the_app_speaks_https_and_says_how_to_trust_it(served):
    site, folder, heard = served
    end = time.monotonic() + 240
    while not (folder / "tls/certificate.pem").exists() and time.monotonic() < end:
        time.sleep(0.2)
    answer = fetch(f"{site}/worker.js", folder / "tls/authority.pem")
    assert answer.headers["Content-Type"] == "text/javascript"
    page = fetch(f"{site}/first-run/", folder / "tls/authority.pem")
    assert "Secure" in page.headers["Set-Cookie"]
    said = heard.read_text()
    assert f"{site}/" in said and "authority.pem" in said and "Compare its SHA-256" in said
    assert "Plain http" not in said


@pytest.fixture
def encrypted(tmp_path) -> Iterator[tuple[Served, Files]]:
    """The web server alone, on https."""
    files = certify(tmp_path / "tls", ["127.0.0.1"], datetime.now(UTC))
    environment = os.environ | {"BUILDLOG_DATA": str(tmp_path), "DJANGO_SETTINGS_MODULE": "tests.floor.server_settings"}
    server = Served.begin(environment, tmp_path / "tls")
    try:
        server.until_it_answers("/alive/", 300)
        yield server, files
    finally:
        server.kill()


def test_old_versions_of_tls_are_turned_away(encrypted):
    """TLS 1.0 and 1.1 are deprecated: RFC 8996."""
    server, files = encrypted
    ours = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    ours.load_cert_chain(files.certificate, files.key)
    ours.minimum_version = ssl.TLSVersion.TLSv1
    ours.set_ciphers("ALL:@SECLEVEL=0")
    if not shake_hands(old_client(), ours):
        pytest.skip("the TLS library of this machine does not speak the old versions any more")
    with server_socket(server) as plain, pytest.raises((ssl.SSLError, OSError)):
        old_client().wrap_socket(plain, server_hostname="127.0.0.1")
    with server_socket(server) as plain:
        trust = ssl.create_default_context(cafile=files.authority)
        with trust.wrap_socket(plain, server_hostname="127.0.0.1") as spoken:
            assert spoken.version() == "TLSv1.3"


def server_socket(server: Served) -> socket.socket:
    return socket.create_connection(("127.0.0.1", server.port), timeout=60)


def old_client() -> ssl.SSLContext:
    """One that speaks nothing newer than TLS 1.1, and trusts everybody."""
    old = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    old.check_hostname, old.verify_mode = False, ssl.CERT_NONE
    old.set_ciphers("ALL:@SECLEVEL=0")
    old.minimum_version, old.maximum_version = ssl.TLSVersion.TLSv1, ssl.TLSVersion.TLSv1_1
    return old


def shake_hands(client: ssl.SSLContext, server: ssl.SSLContext) -> bool:
    """Whether these two come to an agreement, in memory."""
    there, back = ssl.MemoryBIO(), ssl.MemoryBIO()
    sides = [client.wrap_bio(back, there), server.wrap_bio(there, back, server_side=True)]
    for _ in range(10):
        for side in sides:
            try:
                side.do_handshake()
            except ssl.SSLWantReadError:
                continue
            except ssl.SSLError:
                return False
    return sides[0].version() in ("TLSv1", "TLSv1.1")
