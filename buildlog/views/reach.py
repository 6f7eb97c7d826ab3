"""Under which address other devices reach this server."""

from __future__ import annotations

from ipaddress import ip_address
from urllib.parse import urlsplit

from buildlog.access import BuildRequest
from buildlog.network import own_addresses


def reachable(request: BuildRequest, path: str) -> str | None:
    """The whole address of a path, as another device on this network has to type it.

    Who looks at the page on the serving machine itself asks for localhost: its address on the network is put there.
    None when it has none.
    """
    whole = request.build_absolute_uri(path)
    parts = urlsplit(whole)
    if not _loopback(parts.hostname or ""):
        return whole
    own = next(iter(own_addresses()), None)
    port = f":{parts.port}" if parts.port else ""
    return parts._replace(netloc=f"{own}{port}").geturl() if own else None


def _loopback(host: str) -> bool:
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"
