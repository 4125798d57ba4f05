"""What was acknowledged is there after SIGKILL."""

import signal
import sqlite3
import subprocess
import sys
import time

import httpx2
import pytest

from tests.browser.conftest import free_port


@pytest.mark.skipif(sys.platform == "win32", reason="SIGKILL is a POSIX signal")
def test_every_acknowledged_battery_survives_a_killed_server(tmp_path):
    port = free_port()
    command = [sys.executable, "-m", "app", "serve", "--no-browser", "--port", str(port)]
    server = subprocess.Popen([*command, "--data", str(tmp_path)], stdout=subprocess.DEVNULL)
    address = f"http://127.0.0.1:{port}"
    values = {
        "chemistry": "lfp",
        "nominal_v": "12.8",
        "rated_ah": "100",
        "rated_temperature_c": "25",
        "reserve_percent": "0",
        "end_of_life_percent": "80",
        "test_interval_days": "91",
    }
    for _ in range(200):
        try:
            httpx2.get(address, timeout=1)
            break
        except httpx2.TransportError:
            time.sleep(0.05)
    acknowledged = []
    with httpx2.Client() as client:
        for number in range(25):
            name = f"battery {number}"
            response = client.post(f"{address}/batteries", data=values | {"name": name})
            if response.status_code == 303:
                acknowledged.append(name)
    server.send_signal(signal.SIGKILL)
    server.wait(10)
    with sqlite3.connect(tmp_path / "fadeline.db") as connection:
        stored = [name for (name,) in connection.execute("SELECT name FROM battery")]
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert len(acknowledged) == 25
    assert stored == acknowledged
