"""The local authority: certificates that Python's own TLS (OpenSSL) accepts for every host they name."""

import socket
import ssl
import stat
import threading
from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import Encoding

from buildlog import certificates
from buildlog.certificates import Files, certify, fingerprint, runs_out

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


def test_an_authority_lives_a_year_and_the_next_one_signs_anew(tmp_path):
    files = certify(tmp_path / "tls", HOSTS, NOW)
    first = fingerprint(files.authority), fingerprint(files.certificate)
    assert NOW + timedelta(days=360) < runs_out(files.authority) <= NOW + timedelta(days=365)
    certify(tmp_path / "tls", HOSTS, NOW + timedelta(days=360))
    assert (fingerprint(files.authority), fingerprint(files.certificate)) == first
    certify(tmp_path / "tls", HOSTS, NOW + timedelta(days=366))
    assert fingerprint(files.authority) != first[0] and fingerprint(files.certificate) != first[1]


def vouched_for(tmp_path, *hosts: str):
    """A certificate for these hosts by the key of an authority that was made for ours."""
    files = certify(tmp_path / "tls", HOSTS, NOW)
    certificates._make_certificate(files, hosts, NOW)
    return files


@pytest.mark.parametrize("host", ["bank.example", "8.8.8.8", "other.local", "xlocalhost"])
def test_whoever_has_the_key_can_pose_as_nothing_else(tmp_path, host):
    """RFC 5280, 4.2.1.10: a verifier that knows name constraints refuses what they do not permit."""
    with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
        shake_hands(vouched_for(tmp_path, host), host)


@pytest.mark.parametrize("host", ["10.1.2.3", "172.31.0.9", "192.168.77.1", "barn.local"])
def test_a_new_private_address_needs_no_new_authority(tmp_path, host):
    assert shake_hands(vouched_for(tmp_path, host), host) == "TLSv1.3"


def test_the_limits_are_critical(tmp_path):
    files = certify(tmp_path / "tls", HOSTS, NOW)
    authority = x509.load_pem_x509_certificate(files.authority.read_bytes())
    assert authority.extensions.get_extension_for_class(x509.NameConstraints).critical


def test_a_name_beyond_its_limits_needs_a_new_authority(tmp_path):
    files = certify(tmp_path / "tls", HOSTS, NOW)
    first = fingerprint(files.authority)
    certify(tmp_path / "tls", [*HOSTS, "hall.local", "203.0.113.7"], NOW)
    assert fingerprint(files.authority) != first
    assert shake_hands(files, "hall.local") == shake_hands(files, "203.0.113.7") == "TLSv1.3"


def test_an_authority_of_before_that_had_no_limits_is_replaced(tmp_path):
    files = certify(tmp_path / "tls", HOSTS, NOW)
    key, name = ec.generate_private_key(ec.SECP256R1()), certificates._name("Without limits")
    without = certificates._begun(name, name, key.public_key(), NOW, timedelta(days=3650)).sign(key, SHA256())
    certificates._write(files.authority, without.public_bytes(Encoding.PEM))
    certify(tmp_path / "tls", HOSTS, NOW)
    assert shake_hands(files, "localhost") == "TLSv1.3"
    extensions = x509.load_pem_x509_certificate(files.authority.read_bytes()).extensions
    assert extensions.get_extension_for_class(x509.NameConstraints).value.permitted_subtrees


@pytest.mark.django_db
def test_the_start_page_says_it_a_month_before(shed, sign_in, settings, tmp_path):
    settings.HTTPS, settings.DATA_DIR = True, tmp_path
    ilse = sign_in(shed.people.get(name="Ilse"))
    certify(tmp_path / "tls", HOSTS, NOW - timedelta(days=300))
    assert "Tablets trust this site until" not in ilse.get("/").content.decode()
    certificates._make_authority(Files.within(tmp_path / "tls"), HOSTS, NOW - timedelta(days=340))
    assert "Tablets trust this site until" in ilse.get("/").content.decode()


def test_only_the_owner_reads_the_keys_also_of_those_that_were_open(tmp_path):
    files = certify(tmp_path / "tls", HOSTS, NOW)
    for path in (files.key, files.authority_key):
        path.chmod(0o644)
    (tmp_path / "tls").chmod(0o755)
    certify(tmp_path / "tls", HOSTS, NOW)
    assert stat.S_IMODE((tmp_path / "tls").stat().st_mode) == 0o700
    for path in (files.key, files.authority_key):
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
