"""All rows of one database into another, and the proof, record by record, that they are there."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy import Connection, Engine, RowMapping, Table, delete, func, insert, select, text, tuple_

from ..messages import t
from ..store.erasure_rows import KEY
from ..store.models import db

AT_ONCE = 1000
Progress = Callable[[str, int], None]


def tables() -> list[Table]:
    """Return every table, those that others point at first."""
    return list(db.metadata.sorted_tables)


@contextmanager
def snapshot(engine: Engine) -> Iterator[Connection]:
    """One read transaction in which everything is of the same moment, whatever is written meanwhile."""
    with engine.connect() as connection:
        if engine.dialect.name == "postgresql":
            connection = connection.execution_options(isolation_level="REPEATABLE READ", stream_results=True)
        with connection.begin():
            yield connection


def is_empty(connection: Connection) -> bool:
    """Say whether a database holds no row at all but the key that every new one has."""
    own = (table for table in tables() if table.name != KEY.name)
    return all(connection.execute(select(table).limit(1)).first() is None for table in own)


def copy_rows(source: Connection, target: Connection, progress: Progress) -> dict[str, int]:
    """Put every row of ``source`` into the empty ``target``; return how many, by table."""
    done = {}
    for table in tables():
        done[table.name] = 0
        if table.name == KEY.name:
            target.execute(delete(table))
        for rows in _batches(source, table):
            target.execute(insert(table), [dict(row) for row in rows])
            done[table.name] += len(rows)
            progress(table.name, done[table.name])
        _go_on_counting(target, table)
    return done


def differences(source: Connection, target: Connection) -> list[str]:
    """Return every record of ``source`` that ``target`` lacks or holds otherwise, and counts that differ."""
    found = []
    for table in tables():
        count = select(func.count()).select_from(table)
        held, wanted = target.execute(count).scalar_one(), source.execute(count).scalar_one()
        if held != wanted:
            found.append(t("upkeep.copied_rows", table=table.name, held=held, wanted=wanted))
        for rows in _batches(source, table):
            found += _differing(table, rows, target)
    return found


def _differing(table: Table, rows: list[RowMapping], target: Connection) -> list[str]:
    key = list(table.primary_key.columns)
    names = [column.name for column in key]
    wanted = {tuple(row[name] for name in names): dict(row) for row in rows}
    query = select(table).where(tuple_(*key).in_(list(wanted)))
    here = {tuple(row[name] for name in names): dict(row) for row in target.execute(query).mappings()}
    found = []
    for k, row in wanted.items():
        shown = ":".join(map(str, k))
        if k not in here:
            found.append(t("upkeep.copied_missing", table=table.name, key=shown))
        elif here[k] != row:
            found.append(t("upkeep.copied_differs", table=table.name, key=shown))
    return found


def _batches(source: Connection, table: Table) -> Iterator[list[RowMapping]]:
    query = select(table).order_by(*table.primary_key.columns).execution_options(yield_per=AT_ONCE)
    for rows in source.execute(query).mappings().partitions():
        yield list(rows)


def _go_on_counting(target: Connection, table: Table) -> None:
    """PostgreSQL counts its own numbers; after rows that brought theirs it must go on behind them."""
    column: Any = table.autoincrement_column
    if target.dialect.name != "postgresql" or column is None or len(table.primary_key.columns) > 1:
        return
    last = target.execute(select(func.max(column))).scalar()
    if last is not None:
        names = {"table": table.name, "column": column.name, "last": last}
        target.execute(text("SELECT setval(pg_get_serial_sequence(:table, :column), :last)"), names)
