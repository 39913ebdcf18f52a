"""The phone pages' name on the clinic's network: heard by others, left alone where somebody has it, gone at the end.

The other side is a second responder of zeroconf in this process, on the loopback interface: no network is needed.
"""

from __future__ import annotations

from pathlib import Path
from urllib.parse import urlsplit

import pytest
from zeroconf import AddressResolverIPv4, IPVersion, Zeroconf  # type: ignore[attr-defined]

from homecare.cli.announcing import CLOSED, TAKEN, NotAnnounced, announced
from homecare.core.sheet import Clinic
from homecare.desk.bench import Bench

NAME = "test-of-home-care.local"


def heard(name: str) -> list[str]:
    """Which addresses the network gives for a name, as a phone would ask for it."""
    asking = Zeroconf(interfaces=["127.0.0.1"], ip_version=IPVersion.V4Only)
    try:
        asked = AddressResolverIPv4(f"{name}.")
        asked.request(asking, 1500)
        return list(asked.parsed_addresses())
    finally:
        asking.close()


def test_a_phone_finds_the_pages_by_name_and_no_longer_once_they_stop() -> None:
    assert heard(NAME) == []
    with announced(NAME, ["127.0.0.1"], 8021):
        assert heard(NAME) == ["127.0.0.1"]
    assert heard(NAME) == []


def test_a_name_that_another_machine_answers_to_stays_with_it() -> None:
    with announced(NAME, ["127.0.0.1"], 8021):
        with pytest.raises(NotAnnounced, match=TAKEN), announced(NAME, ["127.0.0.2"], 8021):
            pass
        assert heard(NAME) == ["127.0.0.1"]


def test_a_machine_without_an_address_says_so() -> None:
    with pytest.raises(NotAnnounced, match=CLOSED), announced(NAME, ["the-machine"], 8021):
        pass


def test_the_desk_prints_the_name_in_codes_only_while_it_is_announced(tmp_path: Path) -> None:
    for shared, web in ((True, Clinic.web), (False, "")):
        bench = Bench(None, None, tmp_path / str(shared), shared)
        assert bench.clinic.web == web
    clinic = tmp_path / "clinic.yaml"
    clinic.write_text("web: https://care.example\n")
    assert Bench(clinic, None, tmp_path, False).clinic.web == "https://care.example"


def test_the_codes_name_is_one_that_phones_ask_the_network_for() -> None:
    """Names under .local are asked of the network itself (RFC 6762, section 3, from memory)."""
    where = urlsplit(Clinic.web)
    assert str(where.hostname).endswith(".local")
    assert (where.scheme, where.port) == ("http", 8021)  # the port beside the desk's own
