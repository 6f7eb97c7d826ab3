"""`serve --https`: the running app over its own certificate, and what it tells people about trusting it."""

from __future__ import annotations

import os
import signal
import ssl
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest

from tests.management.test_serve import free_port

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
