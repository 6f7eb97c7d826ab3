"""Under which names this machine is reached."""

import ipaddress

from django.http.request import validate_host

from buildlog import network


def test_own_addresses_are_ipv4_and_not_loopback():
    assert all(ipaddress.IPv4Address(found).is_loopback is False for found in network.own_addresses())


def test_loopback_and_own_name_are_always_among_the_hosts(monkeypatch):
    monkeypatch.setattr(network.socket, "gethostname", lambda: "Barn.example")
    monkeypatch.setattr(network, "own_addresses", lambda: ["10.0.0.7"])
    expected = ["localhost", "127.0.0.1", "[::1]", "barn.example", "barn.local", "10.0.0.7"]
    assert network.own_hosts() == expected


def test_without_any_network_loopback_is_left(monkeypatch):
    monkeypatch.setattr(network, "_outward_address", lambda: None)
    monkeypatch.setattr(network, "_addresses_by_name", lambda: ["127.0.1.1"])
    monkeypatch.setattr(network, "_addresses_by_interface", lambda: [])
    assert network.own_addresses() == []


def test_a_new_address_from_the_router_is_answered_to_without_a_restart(monkeypatch):
    """Django asks whether any of the allowed hosts is the one of the request: `django.http.request.validate_host`."""
    seconds = iter([0.0, 1.0, 6.0, 6.0, 7.0, 20.0, 20.0])
    monkeypatch.setattr(network.time, "monotonic", lambda: next(seconds))
    monkeypatch.setattr(network, "own_addresses", lambda: ["10.0.0.7"])
    hosts = network.Hosts(["barn.example"])
    monkeypatch.setattr(network, "addresses_now", lambda: ["192.168.4.9"])
    assert not validate_host("192.168.4.9", hosts), "looked up a second ago"
    assert validate_host("192.168.4.9", hosts)
    assert validate_host("10.0.0.7", hosts) and validate_host("barn.example", hosts)
    assert not validate_host("evil.example", hosts)
