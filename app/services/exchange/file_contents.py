"""What a file to send carries, as a ZIP of open files, and back."""

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from app.archive.limits import ArchiveLimits
from app.archive.package import SHARED_FILES, Label, missing_word
from app.archive.reader import Archive, open_archive
from app.archive.sent_readme import sent_readme
from app.archive.writer import ArchiveWriter
from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import Discharge, DischargeDetails
from app.domain.entities.event import Event, EventKind
from app.domain.entities.meter import Meter, MeterDetails, MeterKind
from app.domain.errors import FieldError, InvalidInput, truncate
from app.domain.i18n.marks import N_
from app.domain.i18n.message import joined, say
from app.domain.records.sent_battery import SENT_FIELDS, SentBattery, SentEvent, SentMeter, SentTest
from app.domain.records.table_schema import ColumnKind, Row, TableSchema
from app.storage.records.tables_as_rows import record_table
from app.storage.repositories.uids import longest
from app.storage.schema.row_values import of_values

KIND = "battery"
_EVERYTHING = N_("all records")
# More do not fit into the 3 MB of a file to send: each takes 1,930 bytes of its page at the least
# (measured, for a result alone that was noted).
MAX_TESTS = 1600
_MAX_ROWS = 2000
# A file to send has some hundred kilobytes, 3 MB at the most; unpacked its readings have some
# megabytes. A reading takes 2.3 bytes of it however even it is (measured): 900,000 fit. Beside the
# readings there are a descriptor, a README and four tables; those of earlier files have a schema
# as well, and an entry for each test.
_MAX_SIZE = ArchiveLimits(unpacked_bytes=60_000_000, entries=MAX_TESTS + 7, readings=1_000_000)
_KEYS = {"discharge": ("id", "uid", "meter_id")}
_NAME, _MARK = ("id", "uid"), "fadeline-battery"


def sent_table(name: str) -> TableSchema:
    """A table of the records with the columns that go out, and no other."""
    table = record_table(name)
    wanted = (*_KEYS.get(name, _NAME), *SENT_FIELDS[name])
    return replace(
        table,
        columns=tuple(column for column in table.columns if column.name in wanted),
        references=tuple(one for one in table.references if one[0] in wanted),
    )


def write_sent(sent: SentBattery, path: Path) -> None:
    """Write the data of a battery; the same data give the same bytes."""
    with ArchiveWriter(path) as archive:
        archive.add_readme(sent_readme(sent))
        for name, rows in _rows(sent).items():
            typed = {text for row in rows for text in row.values() if isinstance(text, str)}
            archive.add_table(sent_table(name), rows, missing_word(typed.__contains__))
        # In one file they take half the room that they take in a file a test.
        archive.add_shared_readings((one.uid, one.test.details.readings) for one in sent.tests)
        archive.finish(_label(sent))


def read_sent(path: Path) -> SentBattery:
    """Read the data of a battery. Raises InvalidInput with what is wrong and where."""
    with open_archive(path, _MAX_SIZE) as archive:
        about = archive.about
        if about.get("kind") != KIND:
            found = say(str(about.get("kind", _EVERYTHING)))
            raise InvalidInput.because(say("data"), found, say("those of one battery"))
        (battery, *others) = list(_checked(archive, "battery")) or [{}]
        if not battery or others:
            raise InvalidInput.because(
                "tables/battery.csv",
                say("{count} rows", count=len(others) + 1),
                say("one battery"),
            )
        meters = tuple(_meter(row) for row in _checked(archive, "meter"))
        rows = archive.with_readings(_checked(archive, "discharge"))
        tests = tuple(_test(row, about) for row in rows)
        events = tuple(_event(row) for row in _checked(archive, "event"))
        sent = SentBattery(
            uid=battery["uid"],
            details=_details(battery),
            meters=meters,
            tests=tuple(sorted(tests, key=lambda one: one.test.details.started_at)),
            events=events,
            as_of=_day(about.get("as_of")),
            demo=about.get("demo") is True,
            program=truncate(str(about.get("program", "")), 20),
        )
    _check_whole(sent)
    return sent


def _rows(sent: SentBattery) -> dict[str, list[Row]]:
    def fields(name: str, of: object) -> Row:
        return {field: getattr(of, field) for field in SENT_FIELDS[name]}

    return {
        "battery": [{"id": 1, "uid": sent.uid, **fields("battery", sent.details)}],
        "meter": [
            {"id": one.meter.id, "uid": one.uid, **fields("meter", one.meter.details)}
            for one in sent.meters
        ],
        "discharge": [
            {
                "id": one.test.id,
                "uid": one.uid,
                "meter_id": one.test.details.meter_id,
                **fields("discharge", one.test.details),
            }
            for one in sent.tests
        ],
        "event": [
            {"id": one.event.id, "uid": one.uid, **fields("event", one.event)}
            for one in sent.events
        ],
    }


def _label(sent: SentBattery) -> Label:
    thinned = {str(one.test.id): one.logged for one in sent.tests if one.thinned}
    about = {
        "kind": KIND,
        "as_of": sent.as_of.isoformat(),
        "demo": sent.demo,
        "program": sent.program,
        "logged": thinned,
    }
    words = "The data behind a file that shows one battery. README.txt explains them."
    return Label(_MARK, "Capacity tests of one battery", words, about, SHARED_FILES)


def _checked(archive: Archive, name: str) -> list[Row]:
    """The rows of a table with what the columns of a record do not say themselves."""
    rows: list[Row] = []
    table = sent_table(name)
    most_rows = MAX_TESTS if name == "discharge" else _MAX_ROWS
    for row in archive.rows(table):
        if len(rows) >= most_rows:
            raise InvalidInput.because(
                say(table.title),
                say("more than {most}", most=most_rows),
                say("at most {most}", most=most_rows),
            )
        for column in table.columns:
            value, most = row[column.name], longest(name, column.name)
            if column.kind is ColumnKind.TEXT and most is not None and len(value) > most:
                where = say(
                    "{table}, row with id {number}, {column}",
                    table=say(table.title),
                    number=row["id"],
                    column=say(column.title),
                )
                raise InvalidInput.because(
                    where, value, say("at most {most} characters", most=most)
                )
        rows.append(row)
    for key in _NAME:
        if len({row[key] for row in rows}) < len(rows):
            where = joined(", ", (say(table.title), key))
            raise InvalidInput.because(where, say("one twice"), say("each once"))
    return rows


def _details(row: Row) -> BatteryDetails:
    return of_values(BatteryDetails, {name: row[name] for name in SENT_FIELDS["battery"]})


# Its name is compared word for word with that in the file.
def _meter(row: Row) -> SentMeter:
    kind = MeterKind(row["kind"])
    limits = {name: row[name] for name in SENT_FIELDS["meter"] if name != "kind"}
    return SentMeter(row["uid"], Meter(row["id"], MeterDetails(kind.label, kind, **limits), 1))


def _test(row: Row, about: dict[str, Any]) -> SentTest:
    readings = row["readings"]
    values = {name: row[name] for name in SENT_FIELDS["discharge"]}
    values |= {"readings": readings, "meter_id": row["meter_id"], "source": ""}
    details = of_values(DischargeDetails, values)
    counts = about.get("logged")
    logged = counts.get(str(row["id"])) if isinstance(counts, dict) else None
    many = logged if type(logged) is int and logged > len(readings) else len(readings)
    return SentTest(row["uid"], Discharge(row["id"], 1, details, 1), many)


def _event(row: Row) -> SentEvent:
    return SentEvent(row["uid"], Event(row["id"], 1, row["on_date"], EventKind(row["kind"]), ""))


def _day(text: object) -> date:
    try:
        return date.fromisoformat(str(text))
    except ValueError:
        raise InvalidInput.because(say("as of"), text, say("a date such as 2030-06-01")) from None


def _check_whole(sent: SentBattery) -> None:
    meters = {one.meter.id for one in sent.meters}
    starts = {one.test.details.started_at for one in sent.tests}
    if len(starts) < len(sent.tests):
        raise InvalidInput([FieldError(say("Two of its tests start at the same moment."), "", "")])
    for one in sent.tests:
        number = one.test.details.meter_id
        if number is not None and number not in meters:
            raise InvalidInput.because(
                say("Capacity tests, meter_id"), number, say("the number of a meter")
            )
