"""This machine's names and addresses on its networks, found without asking any network."""

import ipaddress
import socket

# Documentation addresses: to "connect" a datagram socket to one sends nothing, but shows the way out.
_PROBES = ((socket.AF_INET, ("192.0.2.1", 9)), (socket.AF_INET6, ("2001:db8::1", 9)))
LOOPBACK = ("localhost", "127.0.0.1", "::1")


def host_name() -> str:
    """Return the bare name of this machine, in lower case."""
    return socket.gethostname().split(".")[0].lower()


def addresses() -> list[str]:
    """Return the addresses by which others on the network can reach this machine, the likeliest first."""
    found: list[str] = []
    for family, probe in _PROBES:
        try:  # a machine may have no way out of this kind, or not know the kind at all
            with socket.socket(family, socket.SOCK_DGRAM) as out:
                out.connect(probe)
                found.append(str(out.getsockname()[0]))
        except OSError:
            continue
    try:
        found += [str(info[4][0]) for info in socket.getaddrinfo(socket.gethostname(), None)]
    except OSError:
        pass
    return [a for a in dict.fromkeys(found) if "%" not in a and not ipaddress.ip_address(a).is_loopback]


def machine_names() -> list[str]:
    """Return every name and address that the certificate is for."""
    host = host_name()
    own = [host, f"{host}.local"] if host and host != "localhost" else []
    return list(dict.fromkeys([*LOOPBACK, *own, *addresses()]))
