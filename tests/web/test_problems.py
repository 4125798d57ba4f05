"""What every form does with what it refuses."""

from tests.postgres import another_writing
from tests.web.conftest import refusals_of, soup
from tests.web.typed import BATTERY, CONDITIONS, post_test


def test_a_locked_data_file_keeps_everything_typed(client, battery, store):
    with another_writing(store):
        event = {"on_date": "2026-05-01", "kind": "moved", "note": "kept"}
        pages = [
            soup(post_test(client, battery)),
            soup(client.post("/batteries", data=BATTERY)),
            soup(client.post(f"/batteries/{battery.id}/events", data=event)),
        ]
    for page in pages:
        assert "Another program is writing" in refusals_of(page)
    assert pages[0].find(id="current_9")["value"] == "9,0"
    assert pages[1].find(id="name")["value"] == "Cabin"
    assert pages[2].find(id="note")["value"] == "kept"


def wrong_forms(client, battery):
    """Every form of the owner, sent with what it refuses."""
    number = battery.id
    wrong_battery = {"name": "", "rated_ah": "8 V", "appliance_0": "pump", "appliance_a_0": "x"}
    text = {"file": ("log.csv", b"a;b\n1;2\n")}
    client.post("/places", data={"name": "Garage", "unit": "c"})
    at = f"/batteries/{number}"
    return {
        "battery": client.post("/batteries", data=BATTERY | wrong_battery),
        "meter": client.post("/meters", data={"kind": "shunt"}),
        "test": post_test(client, battery, current_2="x", time_4="y", meter="?"),
        "file": client.post(f"{at}/discharges", data=CONDITIONS, files={"file": ("a.csv", b"")}),
        "columns": client.post(f"{at}/discharges", data=CONDITIONS, files=text),
        "event": client.post(f"{at}/events", data={"on_date": "soon"}),
        "place": client.post("/places", data={"name": "", "temperature_0": "x", "from_1": "3"}),
        "run": client.post(f"{at}/runs", data={"reading_every_min": "x"}),
        "plan": client.get(f"{at}/plan?current_a=x"),
        "road": client.get(f"{at}/road?nights=x"),
        "comparison": client.get("/comparison?battery=x&show=y"),
        "stay": client.post(f"{at}/stays", data={"place_id": "7", "from_date": "x"}),
        "archive": client.post("/records/restore", data={}),
        "received": client.post("/received", data={}),
    }


def test_every_refused_form_links_each_field_in_a_short_line_and_says_it_all_there(client, battery):
    looked_at = 0
    for name, response in wrong_forms(client, battery).items():
        page = soup(response)
        box = page.select_one(".problems")
        assert box, f"{name} refused nothing: {response.status_code}"
        assert box.has_attr("autofocus"), name
        assert box["tabindex"] == "-1", name
        for link in box.select("a"):
            field = page.find(id=link["href"][1:])
            assert field, f"{name}: {link['href']} leads nowhere"
            beside = page.find(id=f"problem-{field['id']}")
            assert beside, f"{name}: nothing beside {field['id']}"
            # The whole sentence stands there alone; the list is short and leads to it.
            assert page.main.text.count(beside.text) == 1, name
            assert len(link.text) < 50, name
            assert not beside.find_parent("details", open=False), name
            if field.get("type") == "radio":
                # Choices that exclude each other are named as a group.
                field = field.find_parent(role="radiogroup")
            group = field.get("role") == "radiogroup"
            if group or field.name in ("input", "select", "textarea"):
                assert beside["id"] in field["aria-describedby"].split(), name
                assert field["aria-invalid"] == "true", name
            looked_at += 1
        ids = [one["id"] for one in page.select("[id]")]
        assert len(ids) == len(set(ids)), f"{name}: an id stands twice"
    assert looked_at > 15
