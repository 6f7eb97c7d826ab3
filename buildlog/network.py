"""The names and addresses under which this machine can be reached on its own network."""

import ipaddress
import socket
import struct
import sys

SIOCGIFADDR = 0x8915  # Linux: the IPv4 address of one interface


def own_hosts() -> list[str]:
    """Every host name a browser may ask for: loopback, this machine's name, its addresses."""
    name = socket.gethostname().lower()
    names = ["localhost", "127.0.0.1", "[::1]", name, f"{name.split('.')[0]}.local"]
    return list(dict.fromkeys(names + own_addresses()))


def own_addresses() -> list[str]:
    """IPv4 addresses of this machine other than loopback, the likeliest for the site first."""
    found = [_outward_address(), *_addresses_by_name(), *_addresses_by_interface()]
    usable = [a for a in found if a and not ipaddress.ip_address(a).is_loopback]
    return list(dict.fromkeys(usable))


def _outward_address() -> str | None:
    """The address that the route to elsewhere would use.

    Connecting a UDP socket only looks up the route; nothing is sent. The far end is in a block
    kept for documentation (RFC 5737).
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
        except OSError:
            return None
        return str(probe.getsockname()[0])


def _addresses_by_name() -> list[str]:
    try:
        return socket.gethostbyname_ex(socket.gethostname())[2]
    except OSError:
        return []


def _addresses_by_interface() -> list[str]:
    """Linux only: a laptop on two networks at once has an address on each."""
    if sys.platform != "linux":
        return []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        return [a for _, name in socket.if_nameindex() if (a := _interface_address(probe, name))]


def _interface_address(probe: socket.socket, name: str) -> str | None:
    import fcntl  # Windows has none

    try:
        answer = fcntl.ioctl(probe, SIOCGIFADDR, struct.pack("256s", name.encode()[:15]))
    except OSError:
        return None
    return socket.inet_ntoa(answer[20:24])
