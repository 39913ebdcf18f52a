"""The phone pages by a name on the clinic's network: the one that printed codes carry until the clinic has its own."""

from __future__ import annotations

import socket
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from zeroconf import (  # type: ignore[attr-defined]  # the resolver is documented, and left out of __all__
    AddressResolverIPv4,
    Error,
    IPVersion,
    ServiceInfo,
    Zeroconf,
)

KIND = "_http._tcp.local."
INSTANCE = f"Home care phone pages.{KIND}"
"""What a list of the network's services shows (RFC 6763, from memory)."""
ASKED_MS = 1000
"""How long others have to say that the name is theirs (RFC 6762 8.1 asks three times within 750 ms, from memory)."""
TAKEN = "another machine on this network is announced by that name"
CLOSED = "this network lets nothing be announced"


class NotAnnounced(Exception):
    """The name could not be announced; says why in words."""


@contextmanager
def announced(name: str, addresses: Sequence[str], port: int) -> Iterator[None]:
    """Answer whoever asks the network for `name` with `addresses` (IPv4), until left (RFC 6762, by zeroconf).

    `name` ends in ".local". Phones ask for such names by themselves. Raises NotAnnounced.
    """
    try:
        own = [socket.inet_aton(address) for address in addresses]
        voice = Zeroconf(interfaces=list(addresses), ip_version=IPVersion.V4Only)
    except (OSError, Error) as error:
        raise NotAnnounced(CLOSED) from error
    try:
        asked = AddressResolverIPv4(f"{name}.")
        if asked.request(voice, ASKED_MS) and not set(asked.addresses) <= set(own):
            raise NotAnnounced(TAKEN)
        try:
            service = ServiceInfo(KIND, INSTANCE, port, addresses=own, server=f"{name}.")
            voice.register_service(service, cooperating_responders=True)  # asked above, by the name that matters
        except (OSError, Error) as error:
            raise NotAnnounced(CLOSED) from error
        yield
    finally:
        voice.close()
