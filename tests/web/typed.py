"""Forms as somebody fills them in."""

from tests.builders import form_rows

BATTERY = {
    "name": "Cabin",
    "chemistry": "lfp",
    "nominal_v": "12,8",
    "rated_ah": "105 Ah",
    "rated_temperature_c": "25",
    "reserve_percent": "20",
    "end_of_life_percent": "80",
    "test_interval_days": "91",
}
CONDITIONS = {
    "started_at": "2026-11-01T08:30",
    "charge_condition": "full_rested",
    "end_reason": "protection",
    "meter": "shunt",
    "load": "lamps",
}
ROWS = [(f"{h}:00", "9,0", f"{13.2 - h * 0.1:.1f}", 22, 100 - 9 * h) for h in range(10)]
ROWS.append(("10:00", "9.0", "10.2", 23, 10))


def post_test(client, battery, action="store", rows=ROWS, **changes):
    values = CONDITIONS | form_rows(rows) | {"action": action} | changes
    return client.post(f"/batteries/{battery.id}/discharges", data=values, follow_redirects=False)


PASTE = "time\tA\tV\n" + "\n".join(f"{h}:00\t9,0\t{13 - h / 5:.0f},2" for h in range(11))


def chosen(page, name):
    field = page.find(id=name)
    one = field.select_one("option[selected]") if field.name == "select" else field
    return one["value"] if one else ""
