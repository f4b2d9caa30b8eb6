"""A Debian made from nothing in a folder, with only Python, venv and git in it, for tests/pythons.py.

By debootstrap, as root, on Linux.  Each command runs in mounts and processes of its own, which end with it.
"""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

# The releases and the Python of each.
RELEASES = {"bookworm": (3, 11), "trixie": (3, 13), "forky": (3, 14)}
PACKAGES = "python3,python3-venv,git,ca-certificates"
DONE = "made-by-fallbook-tests.txt"
_SCRIPTS = Path("/usr/share/debootstrap/scripts")
_ENTER = """
set -e
root=$1; folder=$2; shift 2
mount -t proc proc "$root/proc"
mount --rbind /sys "$root/sys"
mount --rbind /dev "$root/dev"
mount -t tmpfs -o mode=1777 shm "$root/dev/shm"
exec chroot "$root" /bin/sh -c 'cd "$1"; shift; exec "$@"' sh "$folder" "$@"
"""
# How this machine reaches its packages goes along; nothing else of its settings does.
_GO_ALONG = (
    "HTTP_PROXY",
    "HTTPS_PROXY",
    "NO_PROXY",
    "SSL_CERT_FILE",
    "REQUESTS_CA_BUNDLE",
    "NODE_EXTRA_CA_CERTS",
)
_CERTIFICATES = Path("/etc/ssl/certs/ca-certificates.crt")


def why_not() -> str | None:
    """Return why no Debian can be made here, or None."""
    if not hasattr(os, "geteuid") or os.geteuid() != 0:
        return "making a Debian takes root"
    for tool in ("debootstrap", "unshare", "chroot", "mount"):
        if not shutil.which(tool, path=f"{os.environ.get('PATH', '')}:/usr/sbin:/sbin"):
            return (
                f"{tool} is not installed (apt-get install debootstrap)"
                if tool == "debootstrap"
                else f"no {tool}"
            )
    return None


def make(release: str, root: Path, log: Path) -> str | None:
    """Make a Debian where there is none yet; return what went wrong, or None."""
    if (root / DONE).is_file():
        return None
    if root.exists():
        return f"{root} is there, and was not finished here: remove it"
    script = [] if (_SCRIPTS / release).exists() else ["", str(_SCRIPTS / "sid")]
    with log.open("ab") as out:
        command = ["debootstrap", "--variant=minbase", f"--include={PACKAGES}", release, str(root), *script]
        if subprocess.run(command, stdout=out, stderr=out, check=False).returncode:
            shutil.rmtree(root, ignore_errors=True)
            return f"debootstrap {release} failed; see {log}"
    (root / DONE).write_text(release + "\n", encoding="utf-8")
    return None


def settings() -> dict[str, str]:
    """Return the environment of a command in a root."""
    own = {
        "HOME": "/root",
        "PATH": "/usr/sbin:/usr/bin:/sbin:/bin",
        "LANG": "C.UTF-8",
        "CI": os.environ.get("CI", ""),
    }
    along = {k: v for k, v in os.environ.items() if k.upper() in _GO_ALONG or k.startswith("PIP_")}
    return own | along


def command_in(root: Path, folder: str, *command: str) -> list[str]:
    """Return the command line that runs ``command`` in a folder of a root; what it starts ends with it."""
    alone = ["unshare", "--mount", "--propagation", "private", "--pid", "--fork", "--kill-child"]
    return [*alone, "sh", "-c", _ENTER, "sh", str(root), folder, *command]


def prepare(root: Path) -> None:
    """Let a root reach the network as this machine does: names, and the certificates that it trusts."""
    trusted = {Path(os.environ[k]) for k in (*_GO_ALONG, "PIP_CERT") if os.environ.get(k, "").startswith("/")}
    for path in (Path("/etc/resolv.conf"), Path("/etc/hosts"), _CERTIFICATES, *trusted):
        if path.is_file():
            target = root / path.relative_to("/")
            target.parent.mkdir(parents=True, exist_ok=True)
            target.unlink(missing_ok=True)
            shutil.copyfile(path, target)
