"""Which number a row of an archive has in the data file, and references led to it."""

from app.domain.errors import InvalidInput
from app.domain.i18n.message import say
from app.domain.records.table_schema import Row, TableSchema
from app.storage.records.tables_as_rows import has_table, record_table


class IdMap:
    """The numbers of an archive beside those of the data file, table by table."""

    def __init__(self) -> None:
        self._here: dict[str, dict[int, int]] = {}
        self._left_out: dict[str, set[int]] = {}

    def know(self, table: TableSchema, in_archive: int, here: int) -> None:
        """Note where a row of the archive is here. Raises InvalidInput where its number repeats."""
        self._check_once(table, in_archive)
        self._here.setdefault(table.name, {})[in_archive] = here

    def leave_out(self, table: TableSchema, in_archive: int) -> None:
        """Note that a row is not taken: what belongs to it is not taken either."""
        self._check_once(table, in_archive)
        self._left_out.setdefault(table.name, set()).add(in_archive)

    def resolved(self, table: TableSchema, row: Row) -> Row | None:
        """The row with this data file's numbers, None where what it belongs to was left out.

        Raises InvalidInput for a reference that leads nowhere.
        """
        if table.name == "revision":
            return self._resolved_revision(table, row)
        return self._led(table, row, _where(table, row))

    def _resolved_revision(self, table: TableSchema, row: Row) -> Row | None:
        """What an edit replaced: the row it belongs to, and the numbers inside it."""
        where, thing = _where(table, row), row["thing"]
        if not has_table(thing) or not record_table(thing).numbered:
            raise InvalidInput.because(f"{where}, thing", thing, say("the name of a table"))
        _check_before(record_table(thing), row["before"], where)
        number = self._number(thing, row["thing_id"], f"{where}, thing_id")
        if number is None:
            return None
        before = self._led(record_table(thing), row["before"], f"{where}, before")
        if before is None:
            return None
        return {**row, "thing_id": number, "before": {**before, "id": number}}

    def _led(self, table: TableSchema, row: Row, where: str) -> Row | None:
        led = dict(row)
        for column, parent in table.references:
            if row.get(column) is None:
                continue
            number = self._number(parent, row[column], f"{where}, {column}")
            if number is None:
                return None
            led[column] = number
        return led

    def _number(self, table: str, in_archive: object, where: str) -> int | None:
        """The number here; None where that row was left out."""
        if in_archive in self._left_out.get(table, ()):
            return None
        number = self._here.get(table, {}).get(in_archive) if type(in_archive) is int else None
        if number is None:
            raise InvalidInput.because(
                where, in_archive, say("the number of a row in {table}", table=table)
            )
        return number

    def _check_once(self, table: TableSchema, in_archive: int) -> None:
        if in_archive in self._here.get(table.name, ()) or in_archive in self._left_out.get(
            table.name, ()
        ):
            raise InvalidInput.because(
                f"{say(table.title)}, id", in_archive, say("each number once")
            )


def _where(table: TableSchema, row: Row) -> str:
    key = table.primary_key
    return say(
        "{table}, row with {key} {number}", table=say(table.title), key=key, number=str(row[key])
    )


def _check_before(table: TableSchema, before: Row, where: str) -> None:
    """A replaced row has columns of its table, older ones perhaps fewer, and plain values."""
    known = {column.name for column in table.columns} | {"readings"}
    for name, value in before.items():
        if name not in known or isinstance(value, dict | list):
            raise InvalidInput.because(
                f"{where}, before", name, say("plain values of {table}", table=table.name)
            )
