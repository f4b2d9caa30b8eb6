"""The tables.  Only what phones sent is stored; records are folded from it at need."""

from flask_sqlalchemy import SQLAlchemy
from sqlalchemy import BigInteger, Index, Integer, MetaData, String, Text, column
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}


class Base(DeclarativeBase):
    """Base of all tables; constraints have names, so that migrations can drop them."""

    metadata = MetaData(naming_convention=NAMES)


db = SQLAlchemy(model_class=Base)
_IS_ASIDE = column("aside").is_not(None)


class Entry(Base):
    """One entry, kept or set aside (then ``aside`` holds code and reasons)."""

    __tablename__ = "entry"
    # Every job's entries lie together, in the order in which they are read.
    __table_args__ = (
        Index(None, "kind", "job_id"),
        # Those set aside alone, to be counted at every one that comes.
        Index("ix_entry_aside", "job_id", sqlite_where=_IS_ASIDE, postgresql_where=_IS_ASIDE),
        {"sqlite_with_rowid": False},
    )

    job_id: Mapped[str] = mapped_column(String(36), primary_key=True)
    writer: Mapped[str] = mapped_column(String(64), primary_key=True)
    number: Mapped[int] = mapped_column(BigInteger, primary_key=True, autoincrement=False)
    record_id: Mapped[str] = mapped_column(String(36))
    kind: Mapped[str] = mapped_column(String(32))
    body: Mapped[str] = mapped_column(Text)
    sha256: Mapped[str] = mapped_column(String(64))
    aside: Mapped[str | None] = mapped_column(Text)
    received_at: Mapped[str] = mapped_column(String(40))


class Change(Base):
    """What went on in one batch: in a job a writer, from which number; in the list of jobs a job.

    All rows of a batch have its sequence and a random name, which tells it from one of a restored database.
    """

    __tablename__ = "change"
    __table_args__ = ({"sqlite_with_rowid": False},)

    scope: Mapped[str] = mapped_column(String(36), primary_key=True)
    sequence: Mapped[int] = mapped_column(BigInteger, primary_key=True, autoincrement=False)
    item: Mapped[str] = mapped_column(String(64), primary_key=True)
    before: Mapped[int] = mapped_column(BigInteger)
    name: Mapped[str] = mapped_column(String(16))


class HeldBack(Base):
    """An entry that came under an identity which another entry already had: whole, with reasons."""

    __tablename__ = "clash"

    job_id: Mapped[str] = mapped_column(String(36), primary_key=True)
    writer: Mapped[str] = mapped_column(String(64), primary_key=True)
    number: Mapped[int] = mapped_column(BigInteger, primary_key=True, autoincrement=False)
    sha256: Mapped[str] = mapped_column(String(64), primary_key=True)
    body: Mapped[str] = mapped_column(Text)
    reasons: Mapped[str] = mapped_column(Text)
    received_at: Mapped[str] = mapped_column(String(40))


class Photo(Base):
    """A photo whose bytes are whole on disk, under the name of their SHA-256."""

    __tablename__ = "photo"

    sha256: Mapped[str] = mapped_column(String(64), primary_key=True)
    size_bytes: Mapped[int] = mapped_column(BigInteger)
    media_type: Mapped[str] = mapped_column(String(100))
    received_at: Mapped[str] = mapped_column(String(40))


class PhotoRemark(Base):
    """Why no report will show a photo: ``kind``, ``too_large`` or ``not_decoded``.  Most have no row."""

    __tablename__ = "photo_remark"

    sha256: Mapped[str] = mapped_column(String(64), primary_key=True)
    why: Mapped[str] = mapped_column(String(16))


class Device(Base):
    """A phone, an office's browser or a script that was let in.  Its secret is kept as a hash only.

    ``way``: ``cookie``, or ``bearer`` for a script's token.
    """

    __tablename__ = "device"

    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    name: Mapped[str] = mapped_column(String(80))
    role: Mapped[str] = mapped_column(String(16))
    job_id: Mapped[str | None] = mapped_column(String(36))
    secret_sha256: Mapped[str] = mapped_column(String(64), unique=True)
    created_at: Mapped[str] = mapped_column(String(40))
    last_seen_at: Mapped[str | None] = mapped_column(String(40))
    last_address: Mapped[str | None] = mapped_column(String(64))
    revoked_at: Mapped[str | None] = mapped_column(String(40))
    way: Mapped[str] = mapped_column(String(16), server_default="cookie")
    expires_at: Mapped[str | None] = mapped_column(String(40))
    phone_sha256: Mapped[str | None] = mapped_column(String(64), unique=True)  # of the secret that it made


class DeviceJob(Base):
    """A job that a device is limited to, beside the one in its own row."""

    __tablename__ = "device_job"

    device_id: Mapped[str] = mapped_column(String(36), primary_key=True)
    job_id: Mapped[str] = mapped_column(String(36), primary_key=True)
    since: Mapped[str] = mapped_column(String(40))


class Invitation(Base):
    """A code that lets one device in, once, for a short time."""

    __tablename__ = "invitation"

    code_sha256: Mapped[str] = mapped_column(String(64), primary_key=True)
    name: Mapped[str] = mapped_column(String(80))
    role: Mapped[str] = mapped_column(String(16))
    job_id: Mapped[str | None] = mapped_column(String(36))
    made_at: Mapped[str] = mapped_column(String(40))
    expires_at: Mapped[str] = mapped_column(String(40))
    used_at: Mapped[str | None] = mapped_column(String(40))
    device_id: Mapped[str | None] = mapped_column(String(36))


class ClientLink(Base):
    """A link by which a client reads one job until it expires."""

    __tablename__ = "client_link"

    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    name: Mapped[str] = mapped_column(String(80))
    job_id: Mapped[str] = mapped_column(String(36))
    secret_sha256: Mapped[str] = mapped_column(String(64), unique=True)
    made_at: Mapped[str] = mapped_column(String(40))
    expires_at: Mapped[str] = mapped_column(String(40))
    last_seen_at: Mapped[str | None] = mapped_column(String(40))
    revoked_at: Mapped[str | None] = mapped_column(String(40))


class WriterOwner(Base):
    """The device that first used a writer as its own."""

    __tablename__ = "writer_owner"

    writer: Mapped[str] = mapped_column(String(64), primary_key=True)
    device_id: Mapped[str] = mapped_column(String(36))
    since: Mapped[str] = mapped_column(String(40))


class Audit(Base):
    """One thing that somebody did: who, from where, when; ``detail`` is JSON and holds no secret."""

    __tablename__ = "audit"
    __table_args__ = (Index(None, "job_id", "id"),)

    id: Mapped[int] = mapped_column(BigInteger().with_variant(Integer(), "sqlite"), primary_key=True)
    at: Mapped[str] = mapped_column(String(40))
    device_id: Mapped[str | None] = mapped_column(String(36))
    who: Mapped[str] = mapped_column(String(120))
    address: Mapped[str] = mapped_column(String(64))
    action: Mapped[str] = mapped_column(String(40))
    job_id: Mapped[str | None] = mapped_column(String(36))
    detail: Mapped[str] = mapped_column(Text)


class Erasure(Base):
    """One act of the eraser; ``body`` is its JSON, with its proof.

    ``cleared``: 0 while the database may still hold what it expunged in pages that are no longer used.
    """

    __tablename__ = "erasure"
    __table_args__ = (Index(None, "job_id"),)

    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    job_id: Mapped[str] = mapped_column(String(36))
    state: Mapped[str] = mapped_column(String(16))
    until: Mapped[str] = mapped_column(String(10))
    cleared: Mapped[int] = mapped_column(Integer, server_default="1")
    body: Mapped[str] = mapped_column(Text)


class ErasedEntry(Base):
    """An entry that an act hides until it can no longer be undone.  ``place``: ``entry`` or ``clash``."""

    __tablename__ = "erased_entry"

    erasure_id: Mapped[str] = mapped_column(String(36), primary_key=True)
    place: Mapped[str] = mapped_column(String(8), primary_key=True)
    job_id: Mapped[str] = mapped_column(String(36), primary_key=True)
    writer: Mapped[str] = mapped_column(String(64), primary_key=True)
    number: Mapped[int] = mapped_column(BigInteger, primary_key=True, autoincrement=False)
    sha256: Mapped[str] = mapped_column(String(64), primary_key=True)
    body: Mapped[str] = mapped_column(Text)
    aside: Mapped[str | None] = mapped_column(Text)
    received_at: Mapped[str] = mapped_column(String(40))


class ErasedPhoto(Base):
    """A photo that an act took away: ``kept``, ``going`` (its file is to be deleted), or ``gone``."""

    __tablename__ = "erased_photo"
    __table_args__ = (Index(None, "sha256"),)

    erasure_id: Mapped[str] = mapped_column(String(36), primary_key=True)
    sha256: Mapped[str] = mapped_column(String(64), primary_key=True)
    state: Mapped[str] = mapped_column(String(16))
    size_bytes: Mapped[int | None] = mapped_column(BigInteger)
    media_type: Mapped[str | None] = mapped_column(String(100))
    received_at: Mapped[str | None] = mapped_column(String(40))


class ServerKey(Base):
    """A secret of this server by which it knows again what it made itself."""

    __tablename__ = "server_key"

    name: Mapped[str] = mapped_column(String(40), primary_key=True)
    secret: Mapped[str] = mapped_column(String(64))
