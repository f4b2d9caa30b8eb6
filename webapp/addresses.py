"""Host names and addresses of servers, read strictly and written in one way: as a browser sends them.

Everything that is not plainly one is refused with a reason; nothing is guessed.
"""

import ipaddress
import re

from .messages import t

LOCAL_HOSTS = ("localhost", "127.0.0.1", "[::1]")
_LABEL = re.compile(r"[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?")
_PORT = re.compile(r"[1-9][0-9]{0,4}")
_NUMBER = re.compile(r"[0-9]+|0x[0-9a-f]*")
_ODD = {
    "://": "setting.leave_out_scheme",
    "*": "setting.no_wildcard",
    "@": "setting.leave_out_user",
    "/": "setting.leave_out_path",
    "\\": "setting.leave_out_backslash",
    " ": "setting.leave_out_space",
    "%": "setting.leave_out_zone",
}


class NoAddress(ValueError):
    """What was read is no name or address of a server; says why."""


def host_name(text: str) -> str:
    """Return a host name or an IP address as a browser sends it; NoAddress if it is none."""
    for sign, why in _ODD.items():
        if sign in text:
            raise NoAddress(t(why))
    if not text.isascii():
        raise NoAddress(t("setting.punycode"))
    name = text.lower()
    if "[" in name or "]" in name or name.count(":") > 1:
        return f"[{_ipv6(name)}]"
    if ":" in name:
        raise NoAddress(t("setting.leave_out_port"))
    labels = name.split(".")
    if _NUMBER.fullmatch(labels[-1]):
        return _ipv4(name)
    if len(name) > 253 or not all(_LABEL.fullmatch(label) for label in labels):
        raise NoAddress(t("setting.host_letters"))
    return name


def _ipv4(name: str) -> str:
    try:
        address = ipaddress.IPv4Address(name)
    except ValueError as error:
        raise NoAddress(t("setting.ipv4_numbers")) from error
    return str(_somebodys(address))


def _ipv6(name: str) -> str:
    bare = name[1:-1] if name.startswith("[") and name.endswith("]") else name
    try:
        address = ipaddress.IPv6Address(bare)
    except ValueError as error:
        raise NoAddress(t("setting.not_ipv6")) from error
    if address.ipv4_mapped is not None:
        raise NoAddress(t("setting.ipv4_mapped"))
    return str(_somebodys(address))


def _somebodys(
    address: ipaddress.IPv4Address | ipaddress.IPv6Address,
) -> ipaddress.IPv4Address | ipaddress.IPv6Address:
    """Return an address that one machine can have."""
    nobody = address.is_unspecified or address.is_multicast
    if nobody or (address.version == 4 and address.packed[0] in (0, 255)):
        raise NoAddress(t("setting.no_machine"))
    return address


def is_loopback(host: str) -> bool:
    """Say whether a host name, as ``host_name`` writes it, leads back to the machine that asks."""
    if host == "localhost" or host.endswith(".localhost"):
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


def public_url(text: str) -> str:
    """Return the address where phones reach a server, without the last slash; NoAddress if it is none."""
    scheme, host, port = _parts(text)
    if scheme == "http":
        raise NoAddress(t("setting.use_https"))
    if scheme != "https":
        raise NoAddress(t("setting.start_https"))
    return f"https://{host}{'' if port in ('', '443') else f':{port}'}"


def service_url(text: str) -> str:
    """Return the address of a service that a server uses, http or https; NoAddress if it is none."""
    scheme, host, port = _parts(text)
    if scheme not in ("http", "https"):
        raise NoAddress(t("setting.start_scheme"))
    return f"{scheme}://{host}{f':{port}' if port else ''}"


def host_of(url: str) -> str:
    """Return the host of an address that ``public_url`` wrote."""
    return re.sub(r":\d+$", "", url.partition("://")[2])


def _parts(text: str) -> tuple[str, str, str]:
    """Return scheme, host and port; user, path, query and fragment are refused."""
    scheme, sign, rest = text.strip().partition("://")
    if not sign:
        return "", "", ""
    for odd, what in (("@", "user"), ("?", "query"), ("#", "fragment")):
        if odd in rest:
            raise NoAddress(t(f"setting.leave_out_{what}"))
    rest = rest.removesuffix("/")
    if "/" in rest:
        raise NoAddress(t("setting.leave_out_path_behind"))
    host, port = rest, ""
    if found := re.fullmatch(r"(\[[^\]]*\]|[^:]*):(.*)", rest):
        host, port = found.groups()
        if not _PORT.fullmatch(port) or int(port) > 65535:
            raise NoAddress(t("setting.port_range"))
    elif ":" in rest and not rest.startswith("["):
        raise NoAddress(t("setting.ipv6_brackets"))
    if not host:
        raise NoAddress(t("setting.name_missing"))
    return scheme.lower(), host_name(host), port
