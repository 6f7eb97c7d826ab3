"""The local authority: certificates that Python's own TLS (OpenSSL) accepts for every host they name."""

import socket
import ssl
import stat
import threading
from datetime import UTC, datetime, timedelta

import pytest

from buildlog.management.certificates import certify, fingerprint

HOSTS = ["localhost", "127.0.0.1", "barn.local", "192.168.1.50", "[::1]"]
NOW = datetime.now(UTC)


@pytest.mark.parametrize("host", ["localhost", "127.0.0.1", "barn.local", "192.168.1.50"])
def test_openssl_trusts_the_machine_once_it_trusts_the_authority(tmp_path, host):
    assert shake_hands(certify(tmp_path / "tls", HOSTS, NOW), host) == "TLSv1.3"


def test_a_host_that_is_not_named_is_not_trusted(tmp_path):
    with pytest.raises(ssl.SSLCertVerificationError):
        shake_hands(certify(tmp_path / "tls", HOSTS, NOW), "elsewhere.local")


def shake_hands(files, host: str) -> str:
    server, client = socket.socketpair()
    ours = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    ours.load_cert_chain(files.certificate, files.key)

    def answer() -> None:
        try:
            ours.wrap_socket(server, server_side=True).close()
        except OSError:
            server.close()

    thread = threading.Thread(target=answer)
    thread.start()
    try:
        with ssl.create_default_context(cafile=files.authority).wrap_socket(client, server_hostname=host) as found:
            return found.version()
    finally:
        client.close()
        thread.join(10)


def test_what_is_good_is_kept_and_a_new_address_needs_only_a_new_certificate(tmp_path):
    files = certify(tmp_path / "tls", HOSTS, NOW)
    first = fingerprint(files.certificate)
    assert fingerprint(certify(tmp_path / "tls", HOSTS, NOW).certificate) == first
    authority = fingerprint(files.authority)
    assert fingerprint(certify(tmp_path / "tls", [*HOSTS, "10.0.0.7"], NOW).certificate) != first
    assert fingerprint(files.authority) == authority


def test_a_certificate_that_runs_out_soon_is_renewed(tmp_path):
    first = fingerprint(certify(tmp_path / "tls", HOSTS, NOW).certificate)
    later = NOW + timedelta(days=370)
    assert fingerprint(certify(tmp_path / "tls", HOSTS, later).certificate) != first


def test_only_the_owner_reads_the_keys(tmp_path):
    files = certify(tmp_path / "tls", HOSTS, NOW)
    for path in (files.key, files.authority_key):
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
