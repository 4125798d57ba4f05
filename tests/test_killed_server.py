"""What was acknowledged is there after SIGKILL."""

import signal
import subprocess
import sys
import time

import httpx2
import pytest
from sqlalchemy import text

from app.storage.engine import reading
from tests.browser.conftest import free_port
from tests.servers import environment_of, opened


@pytest.mark.skipif(sys.platform == "win32", reason="SIGKILL is a POSIX signal")
def test_every_acknowledged_battery_survives_a_killed_server(tmp_path):
    port = free_port()
    command = [sys.executable, "-m", "app", "serve", "--no-browser", "--port", str(port)]
    server = subprocess.Popen(
        [*command, "--data", str(tmp_path)],
        stdout=subprocess.DEVNULL,
        env=environment_of(tmp_path),
    )
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
    store = opened(tmp_path)
    with reading(store.engine) as session:
        stored = session.execute(text("SELECT name FROM battery ORDER BY id")).scalars().all()
        if not store.on_server:
            assert session.execute(text("PRAGMA integrity_check")).scalar_one() == "ok"
    store.engine.dispose()
    assert len(acknowledged) == 25
    assert stored == acknowledged
