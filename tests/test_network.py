"""Under which names this machine is reached."""

import ipaddress

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
