"""Single tables of pages as CSV for spreadsheets and as JSON: tests, readings, result, curves.

Their words are English, whoever reads the pages.
"""

import math
from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from fastapi import Request
from fastapi.encoders import jsonable_encoder
from starlette.responses import JSONResponse, Response

from app.analysis.battery.battery_report import TestSummary
from app.domain.entities.discharge import Discharge
from app.domain.finding import EvidenceKind
from app.services.entities import batteries, discharges
from app.web.lazy_routes import LazyRouter
from app.web.rendering.rendering import Id, store_of, today_of
from app.web.rendering.spreadsheet import Cell, as_download, spreadsheet_response

router = LazyRouter(include_in_schema=False)
TEST_COLUMNS = (
    "date",
    "started_at",
    "kind",
    "capacity_ah",
    "lower_bound_ah",
    "expanded_uncertainty_ah",
    "mean_current_a",
    "duration_h",
    "mean_temperature_c",
    "charge_condition",
    "end_reason",
    "load",
    "caveats",
    "far_from_the_rest",
    "left_out_because",
    "only_the_result",
)
CURVE_COLUMNS = ("test", "date", "time_h", "charge_ah", "voltage_v", "difference_to_first_v")


@router.get("/batteries/{battery_id}/tests.csv", name="tests_csv")
def tests_csv(request: Request, battery_id: Id) -> Response:
    """The tests of a battery; the capacity only where it was measured."""
    rows = [list(row.values()) for row in _tests(request, battery_id)]
    return spreadsheet_response(f"battery-{battery_id}-tests", TEST_COLUMNS, rows)


@router.get("/batteries/{battery_id}/tests.json", name="tests_json")
def tests_json(request: Request, battery_id: Id) -> Response:
    return _json(f"battery-{battery_id}-tests", _tests(request, battery_id))


@router.get("/batteries/{battery_id}/curves.csv", name="curves_csv")
def curves_csv(request: Request, battery_id: Id) -> Response:
    """Every point of every curve, one a row."""
    curves = batteries.show_curves(store_of(request), battery_id)
    rows: list[list[Cell]] = [
        [curve.discharge_id, curve.on_date, *point]
        for curve in curves.curves
        for point in zip(
            curve.hours, curve.charge_ah, curve.voltage_v, curve.difference_v, strict=True
        )
    ]
    return spreadsheet_response(f"battery-{battery_id}-curves", CURVE_COLUMNS, rows)


@router.get("/batteries/{battery_id}/curves.json", name="curves_json")
def curves_json(request: Request, battery_id: Id) -> Response:
    curves = batteries.show_curves(store_of(request), battery_id)
    return _json(f"battery-{battery_id}-curves", curves)


@router.get("/discharges/{discharge_id}/readings.csv", name="readings_csv")
def readings_csv(request: Request, discharge_id: Id) -> Response:
    """All readings of a test as they were entered, with the end where one was noted."""
    test = discharges.show_discharge(store_of(request), discharge_id).discharge
    rows = [list(row.values()) for row in _readings(test)]
    header = _reading_columns(test)
    return spreadsheet_response(f"test-{discharge_id}-readings", header, rows)


@router.get("/discharges/{discharge_id}/readings.json", name="readings_json")
def readings_json(request: Request, discharge_id: Id) -> Response:
    test = discharges.show_discharge(store_of(request), discharge_id).discharge
    return _json(f"test-{discharge_id}-readings", _readings(test))


@router.get("/discharges/{discharge_id}/result.json", name="result_json")
def result_json(request: Request, discharge_id: Id) -> Response:
    """The result of a test with its reasons, its budget and its caveats."""
    report = discharges.show_discharge(store_of(request), discharge_id).report
    return _json(f"test-{discharge_id}-result", report)


def _tests(request: Request, battery_id: int) -> list[Mapping[str, Cell]]:
    view = batteries.show_battery(store_of(request), battery_id, today_of(request))
    return [_test(test) for test in view.report.tests]


def _test(test: TestSummary) -> Mapping[str, Cell]:
    """One test in the order of TEST_COLUMNS. A test that proves nothing has no numbers of it."""
    proves = test.kind is not EvidenceKind.UNUSABLE
    values: tuple[Cell, ...] = (
        test.started_at.date(),
        test.started_at,
        test.kind.value,
        test.capacity_ah if test.kind is EvidenceKind.MEASURED else None,
        test.lower_ah if proves else None,
        test.expanded_ah if proves else None,
        test.mean_current_a,
        test.duration_h,
        test.temperature_c,
        test.charge_condition,
        test.end_reason,
        test.load,
        test.caveats,
        test.odd,
        test.left_out_reason,
        test.only_result,
    )
    return dict(zip(TEST_COLUMNS, values, strict=True))


def _reading_columns(test: Discharge) -> tuple[str, ...]:
    return ("number", "moment", *test.details.readings.columns, "ended_after_h")


def _readings(test: Discharge) -> list[Mapping[str, Cell]]:
    """The readings by column, with the moment on the test's own clock.

    What the amp-hours are counted from is all there: a counter's column where there is one, and
    the moment of the end that was noted (after the first reading), which every row repeats.
    """
    details = test.details
    columns = [getattr(details.readings, name) for name in details.readings.columns]
    made: list[Mapping[str, Cell]] = []
    for number, row in enumerate(zip(*columns, strict=True), start=1):
        moment = details.started_local + timedelta(seconds=row[0])
        known = [None if math.isnan(value) else value for value in row]
        cells = [number, moment, *known, details.ended_after_h]
        made.append(dict(zip(_reading_columns(test), cells, strict=True)))
    return made


def _json(name: str, content: Any) -> Response:
    return JSONResponse(jsonable_encoder(content), headers=as_download(f"{name}.json"))
