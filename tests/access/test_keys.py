"""The keys of certificates are for this user only, or are not made."""

import os
from pathlib import Path

import pytest

from webapp.errors import AppError
from webapp.lan import certificates
from webapp.upkeep import backup


def test_a_key_that_others_could_read_is_tightened(tmp_path):
    first = certificates.authority(tmp_path)
    certificates.leaf(tmp_path, ["localhost"])
    folder = tmp_path / "certificates"
    folder.chmod(0o755)
    for path in folder.glob("*.key"):
        path.chmod(0o644)
    assert certificates.authority(tmp_path).fingerprint == first.fingerprint
    certificates.leaf(tmp_path, ["localhost"])
    assert [oct(p.stat().st_mode & 0o777) for p in (folder, *folder.glob("*.key"))] == [
        "0o700",
        "0o600",
        "0o600",
    ]


def test_in_a_folder_that_stays_open_to_others_no_key_is_made(tmp_path, monkeypatch):
    """As on a disk that knows no owners."""
    (tmp_path / "certificates").mkdir(mode=0o755)
    monkeypatch.setattr(Path, "chmod", lambda *_: None)
    with pytest.raises(AppError) as caught:
        certificates.authority(tmp_path)
    assert caught.value.code == "key_unprotected"
    assert list((tmp_path / "certificates").iterdir()) == []


def test_a_key_that_stays_open_to_others_never_gets_its_name(tmp_path, monkeypatch):
    certificates.private_folder(tmp_path / "certificates")
    real = os.open
    monkeypatch.setattr(os, "open", lambda path, flags, *_mode, **more: real(path, flags, 0o644, **more))
    monkeypatch.setattr(Path, "chmod", lambda *_: None)
    with pytest.raises(AppError) as caught:
        certificates.authority(tmp_path)
    assert caught.value.code == "key_unprotected"
    assert not (tmp_path / "certificates" / "authority.key").exists()


def test_a_backup_is_taken_on_such_a_disk_all_the_same(tmp_path, monkeypatch):
    certificates.authority(tmp_path)
    (tmp_path / "stick").mkdir()

    def refuse(_path):
        raise AppError("key_unprotected")

    monkeypatch.setattr(backup, "private_folder", refuse)
    backup.keep_certificates(tmp_path, tmp_path / "stick")
    assert (tmp_path / "stick" / "certificates" / "authority.key").exists()
