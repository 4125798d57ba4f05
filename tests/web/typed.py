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
    "day": "2026-11-01",
    "start_time": "08:30",
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


def as_sent(form):
    """What a browser would send of a form as it was filled, without files and buttons."""
    values = {}
    for field in form.select("input[name], textarea[name]"):
        if field.get("type") in ("checkbox", "radio") and not field.has_attr("checked"):
            continue
        if field.get("type") != "file":
            values[field["name"]] = field.get("value", "") if field.name == "input" else field.text
    for select in form.select("select[name]"):
        chosen = select.select_one("option[selected]") or select.option
        values[select["name"]] = chosen["value"]
    return values


def chosen(page, name):
    field = page.find(id=name)
    if field.get("type") == "radio":
        one = page.select_one(f"input[name={name}][checked]")
        return one["value"] if one else ""
    one = field.select_one("option[selected]") if field.name == "select" else field
    return one["value"] if one else ""
