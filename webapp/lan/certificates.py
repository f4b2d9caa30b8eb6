"""A certificate authority of this data folder, and the certificate of this machine, signed by it.

The authority is kept for ten years, the certificate for 397 days; it is made anew when the names change, when
a month is left, or where it begins in the future because the clock was ahead.  What may be wrong with their
times, validity.py tells.  The authority is limited to private addresses and local names: a phone that trusts
it cannot be misled about any public site, even if its key leaks.
"""

import datetime
import hashlib
import ipaddress
import os
import ssl
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from .. import timesource
from ..errors import AppError
from ..messages import t
from ..store.folder import sync_file
from ..store.private import FILE_MODE, private_file, private_folder
from . import validity
from .folder import AUTHORITY_FILE, AUTHORITY_KEY, CHAIN_FILE, CHAIN_KEY
from .folder import CERTIFICATES as CERTIFICATES
from .names import host_name, machine_names

AUTHORITY_DAYS = 3650
LEAF_DAYS = 397
# Of TLS 1.2 what keeps past traffic secret and authenticates what it encrypts; TLS 1.3 has nothing else.
SUITES = "ECDHE+AESGCM:ECDHE+CHACHA20"
_PRIVATE = (
    *("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "100.64.0.0/10", "127.0.0.0/8"),
    *("fc00::/7", "fe80::/10", "::1/128"),
)
_SUFFIXES = ("local", "lan", "home.arpa", "internal", "localhost")
Key = ec.EllipticCurvePrivateKey


@dataclass(frozen=True)
class Authority:
    """The authority of one data folder."""

    key: Key
    certificate: x509.Certificate

    @property
    def der(self) -> bytes:
        """Return the certificate as a phone takes it."""
        return self.certificate.public_bytes(serialization.Encoding.DER)

    @property
    def certificate_pem(self) -> str:
        """Return the certificate as programs take it."""
        return self.certificate.public_bytes(serialization.Encoding.PEM).decode()

    @property
    def fingerprint(self) -> str:
        """Return the SHA-256 of the certificate, in pairs of digits, for people to compare."""
        return ":".join(f"{byte:02X}" for byte in hashlib.sha256(self.der).digest())


def _subject(common_name: str) -> x509.Name:
    organisation = x509.NameAttribute(NameOID.ORGANIZATION_NAME, "Fallbook, this machine only")
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, common_name[:64]), organisation])


def write_file(path: Path, data: bytes, mode: int) -> None:
    """Put a whole file in place of the one that is there, or leave that one as it is."""
    part = path.with_suffix(path.suffix + ".new")
    part.unlink(missing_ok=True)
    handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode)
    with os.fdopen(handle, "wb") as file:
        file.write(data)
        file.flush()
        sync_file(file.fileno())
    if mode == FILE_MODE:
        private_file(part)  # before anybody can find it under its name
    os.replace(part, path)


def _pem(key: Key) -> bytes:
    plain = serialization.NoEncryption()
    return key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, plain)


def _use(*, signs: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs,
        key_cert_sign=signs,
        crl_sign=signs,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def authority(data_folder: Path) -> Authority:
    """Return the authority of a data folder; made where there is none, its key for this user only."""
    folder = data_folder / CERTIFICATES
    key_path, certificate_path = folder / AUTHORITY_KEY, folder / AUTHORITY_FILE
    try:
        private_folder(folder)
        if key_path.exists() and certificate_path.exists():
            private_file(key_path)
            key = serialization.load_pem_private_key(key_path.read_bytes(), None)
            if not isinstance(key, ec.EllipticCurvePrivateKey):
                raise AppError("data_damaged", t("lan.key_foreign", key_path=key_path))
            return Authority(key, x509.load_pem_x509_certificate(certificate_path.read_bytes()))
        made = _make_authority()
        write_file(key_path, _pem(made.key), FILE_MODE)
        write_file(certificate_path, made.certificate_pem.encode(), 0o644)
        return made
    except OSError as error:
        raise AppError("data_unwritable", f"({error.strerror}: {folder})") from error
    except ValueError as error:
        raise AppError("data_damaged", t("lan.certificates_unreadable", folder=folder)) from error


def renew_authority(data_folder: Path) -> Authority:
    """Give the authority new dates from now, under the key that it has; AppError where there is none.

    The certificate of the server is signed by the same key, so phones that trust the earlier authority go on
    for as long as that one holds.
    """
    folder = data_folder / CERTIFICATES
    if not (folder / AUTHORITY_KEY).exists() or not (folder / AUTHORITY_FILE).exists():
        raise AppError("certificate_missing", f"({folder})")
    own = authority(data_folder)
    made = _make_authority(own.key, own.certificate)
    try:
        write_file(folder / AUTHORITY_FILE, made.certificate_pem.encode(), 0o644)
    except OSError as error:
        raise AppError("data_unwritable", f"({error.strerror}: {folder})") from error
    return made


def _make_authority(key: Key | None = None, before: x509.Certificate | None = None) -> Authority:
    """Return a new authority, or one with the key and the name of an earlier one."""
    now, key = timesource.now_utc(), key or ec.generate_private_key(ec.SECP256R1())
    subject = before.subject if before else _subject(f"Fallbook on {host_name()}")
    names = [x509.DNSName(s) for s in (*_SUFFIXES, host_name())]
    places = [x509.IPAddress(ipaddress.ip_network(n)) for n in _PRIVATE]
    builder = _dated(subject, subject, key, now, AUTHORITY_DAYS)
    builder = builder.add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
    builder = builder.add_extension(_use(signs=True), critical=True)
    builder = builder.add_extension(
        x509.NameConstraints(permitted_subtrees=[*names, *places], excluded_subtrees=None), critical=True
    )
    return Authority(key, builder.sign(key, hashes.SHA256()))


def _dated(
    subject: x509.Name, issuer: x509.Name, key: Key, now: datetime.datetime, days: int
) -> x509.CertificateBuilder:
    """Begin a certificate: valid from yesterday, for phones whose clock is behind."""
    start = now - datetime.timedelta(days=1)
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(start)
        .not_valid_after(start + datetime.timedelta(days=days))
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )


def is_permitted(own: Authority, name: str) -> bool:
    """Say whether the authority may vouch for a name: one that it may not would spoil the certificate."""
    limits = own.certificate.extensions.get_extension_for_class(x509.NameConstraints).value
    permitted = [tree.value for tree in limits.permitted_subtrees or ()]
    try:
        address = ipaddress.ip_address(name)
    except ValueError:
        bare = name.lower()
        return any(bare == s or bare.endswith(f".{s}") for s in permitted if isinstance(s, str))
    nets = [n for n in permitted if isinstance(n, ipaddress.IPv4Network | ipaddress.IPv6Network)]
    return any(address in net for net in nets if net.version == address.version)


def leaf(data_folder: Path, names: Sequence[str]) -> tuple[Path, Path]:
    """Return certificate chain and key for names: the present ones where they still hold, else new ones."""
    folder = data_folder / CERTIFICATES
    chain_path, key_path = folder / CHAIN_FILE, folder / CHAIN_KEY
    own = authority(data_folder)
    wanted = sorted(name for name in names if is_permitted(own, name))
    if chain_path.exists() and key_path.exists():
        private_file(key_path)
        if _still_good(chain_path.read_bytes(), key_path.read_bytes(), own, wanted):
            return chain_path, key_path
    key = ec.generate_private_key(ec.SECP256R1())
    certificate = _sign_leaf(own, key, wanted)
    chain = [c.public_bytes(serialization.Encoding.PEM) for c in (certificate, own.certificate)]
    write_file(key_path, _pem(key), FILE_MODE)
    write_file(chain_path, b"".join(chain), 0o644)
    return chain_path, key_path


def names_of_leaf(data_folder: Path) -> list[str]:
    """Return the names that the present certificate of the server is for; where it is none, the machine's."""
    try:
        chain = (data_folder / CERTIFICATES / CHAIN_FILE).read_bytes()
        return _named_in(x509.load_pem_x509_certificates(chain)[0])
    except (OSError, ValueError, IndexError, x509.ExtensionNotFound):
        return machine_names()


def _named_in(certificate: x509.Certificate) -> list[str]:
    found = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    named = found.get_values_for_type(x509.DNSName)
    return named + [str(a) for a in found.get_values_for_type(x509.IPAddress)]


def _still_good(chain: bytes, key: bytes, own: Authority, wanted: list[str]) -> bool:
    try:
        certificate, issuer = x509.load_pem_x509_certificates(chain)
        if serialization.load_pem_private_key(key, None).public_key() != certificate.public_key():
            return False  # the disk filled up, or the power went, between the two
        certificate.verify_directly_issued_by(own.certificate)
        if issuer != own.certificate:
            return False  # the authority was renewed since
    except (InvalidSignature, ValueError, TypeError, IndexError):
        return False  # damaged, or of another authority
    return sorted(_named_in(certificate)) == wanted and not _is_to_renew(certificate, own)


def _is_to_renew(certificate: x509.Certificate, own: Authority) -> bool:
    """Say whether a certificate's time is over, near its end, or in the future.

    Where the authority itself does not hold by this clock, the clock may well be wrong: then what a phone
    with the right time could accept is left as it is.
    """
    now = timesource.now_utc()
    return (
        validity.holds(own.certificate, now)
        and validity.state_of(certificate, now, validity.LEAF_WARN_DAYS) is not None
    )


def _sign_leaf(own: Authority, key: Key, names: list[str]) -> x509.Certificate:
    listed: list[x509.GeneralName] = []
    for name in names:
        try:
            listed.append(x509.IPAddress(ipaddress.ip_address(name)))
        except ValueError:
            listed.append(x509.DNSName(name))
    issuer = own.certificate.subject
    builder = _dated(_subject("Fallbook server"), issuer, key, timesource.now_utc(), LEAF_DAYS)
    for extension, critical in (
        (x509.SubjectAlternativeName(listed), False),
        (x509.BasicConstraints(ca=False, path_length=None), True),
        (_use(signs=False), True),
        (x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), False),
        (x509.AuthorityKeyIdentifier.from_issuer_public_key(own.key.public_key()), False),
    ):
        builder = builder.add_extension(extension, critical)
    return builder.sign(own.key, hashes.SHA256())


def tls_context(chain: Path, key: Path) -> ssl.SSLContext:
    """Return the TLS settings of the server: 1.2 at least, HTTP/1.1."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    context.set_ciphers(SUITES)
    context.options |= ssl.OP_NO_RENEGOTIATION | ssl.OP_CIPHER_SERVER_PREFERENCE | ssl.OP_NO_COMPRESSION
    context.load_cert_chain(chain, key)
    context.set_alpn_protocols(["http/1.1"])
    return context
