"""The main job as its tests do it: the same battery and the same test, whatever it is done with."""

from playwright.sync_api import Page

PHONE = {"width": 390, "height": 844}
ROWS = [(f"{8 + h}:00", "9", f"{13.1 - h * 0.05:.2f}") for h in range(10)]
ROWS.append(("17:42", "9", "10.4"))
# 9 A for 9.7 h are 87.3 Ah, and half of the 0.45 Ah that may have been left at 10.4 V.
VERDICT = "Measured 87.5 Ah ±"


def say_how(page: Page) -> None:
    """The day, and the large choices: full and rested before, off by itself in the end."""
    page.get_by_label("Day", exact=True).fill("2026-03-01")
    page.get_by_label("Full, then rested an hour").check()
    page.get_by_label("The battery switched itself off").check()


def log_a_test(page: Page) -> None:
    """Fill in the form of a test with ten hours of readings, check it and store it."""
    say_how(page)
    for number, (time, amps, volts) in enumerate(ROWS, start=1):
        page.get_by_label(f"time, row {number}", exact=True).fill(time)
        page.get_by_label(f"current, row {number}", exact=True).fill(amps)
        page.get_by_label(f"voltage, row {number}", exact=True).fill(volts)
    page.get_by_role("button", name="Check", exact=True).click()
    page.get_by_role("button", name="Store this test").click()
