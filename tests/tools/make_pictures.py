"""Makes the pictures of the README from the invented demo: python -m tests.tools.make_pictures.

They lie in static/pictures and go into the wheel with it, so they are kept small.
"""

import io
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

from tests.browser.conftest import FLAGS, NAMES
from tests.live_server import serving

PICTURES = Path(__file__).parents[2] / "static" / "pictures"
MAX_BYTES = 80_000
Way = Callable[[Page], None]
LAPTOP, PHONE = (1000, 760), (390, 760)


def take_pictures() -> None:
    """Serve the demo, take each picture and say how large it became."""
    PICTURES.mkdir(exist_ok=True)
    path = next(found for name in NAMES if (found := shutil.which(name)))
    with (
        tempfile.TemporaryDirectory() as folder,
        serving(Path(folder), "--demo") as address,
        sync_playwright() as playwright,
    ):
        browser = playwright.chromium.launch(executable_path=path, args=FLAGS)
        for name, size, way in (
            ("battery", LAPTOP, _to_the_fade),
            ("test", LAPTOP, _to_the_newest_test),
            ("phone", PHONE, _to_the_batteries),
        ):
            print(name, _keep(name, _picture(browser, address, size, way)), "bytes")
        browser.close()


def _picture(browser: Browser, address: str, size: tuple[int, int], way: Way) -> bytes:
    page = browser.new_page(viewport={"width": size[0], "height": size[1]})
    page.goto(address)
    way(page)
    page.wait_for_load_state("networkidle")
    taken = page.screenshot()
    page.close()
    return taken


def _to_the_batteries(page: Page) -> None:
    page.evaluate("document.querySelector('h1').scrollIntoView()")


def _to_the_fade(page: Page) -> None:
    page.get_by_role("link", name="Marmot galley bank", exact=True).click()
    page.wait_for_selector("figure.chart .still svg")


def _to_the_newest_test(page: Page) -> None:
    page.get_by_role("link", name="Marmot galley bank", exact=True).click()
    page.locator(".newest tbody tr:not(.happened) th a").first.click()
    page.wait_for_selector("figure.chart .still svg")


def _keep(name: str, taken: bytes) -> int:
    """Store it as WebP. Raises ValueError where it would be too large."""
    packed = io.BytesIO()
    Image.open(io.BytesIO(taken)).convert("RGB").save(packed, "WEBP", quality=70, method=6)
    if packed.tell() > MAX_BYTES:
        raise ValueError(f"{name}: {packed.tell()} bytes, at most {MAX_BYTES} are wanted")
    (PICTURES / f"{name}.webp").write_bytes(packed.getvalue())
    return packed.tell()


if __name__ == "__main__":
    take_pictures()
