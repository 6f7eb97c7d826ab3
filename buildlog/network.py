"""The names and addresses under which this machine can be reached on its own network."""

import ipaddress
import socket
import struct
import sys
import time
from collections.abc import Iterator, Sequence

SIOCGIFADDR = 0x8915  # Linux: the IPv4 address of one interface


def own_hosts() -> list[str]:
    """Every host name a browser may ask for: loopback, this machine's name, its addresses."""
    name = socket.gethostname().lower()
    names = ["localhost", "127.0.0.1", "[::1]", name, f"{name.split('.')[0]}.local"]
    return list(dict.fromkeys(names + own_addresses()))


class Hosts(list[str]):
    """Host names that this site answers to. Who reads on to the end has not found the one that was asked for: then this
    machine's addresses are looked up again, as the router may have given it another one; at most every few seconds."""

    LOOKED_UP_EVERY_S = 5.0

    def __init__(self, more: Sequence[str] = ()) -> None:
        super().__init__([*own_hosts(), *more])
        self._looked_up = time.monotonic()

    def __iter__(self) -> Iterator[str]:
        yield from super().__iter__()
        if time.monotonic() - self._looked_up >= self.LOOKED_UP_EVERY_S:
            self._looked_up = time.monotonic()
            new = [host for host in addresses_now() if host not in self]
            self.extend(new)
            yield from new


def own_addresses() -> list[str]:
    """IPv4 addresses of this machine other than loopback, the likeliest for the site first."""
    addresses = [_outward_address(), *_addresses_by_name(), *_addresses_by_interface()]
    usable = [a for a in addresses if a and not ipaddress.ip_address(a).is_loopback]
    return list(dict.fromkeys(usable))


def addresses_now() -> list[str]:
    """What can be found without asking for a name, which waits for seconds where nobody answers."""
    return [address for address in (_outward_address(), *_addresses_by_interface()) if address]


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
