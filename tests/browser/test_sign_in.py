"""Signing in from another device, by keyboard and without scripts, behind a public address."""

import subprocess
import sys

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Watch
from tests.browser.main_job import PHONE
from tests.live_server import server_in_thread
from tests.web.auth_client import PASSPHRASE


@pytest.fixture
def address(tmp_path):
    """A server on which everybody signs in: the browser stands for another device."""
    data = ["--data", str(tmp_path / "data")]
    command = [sys.executable, "-m", "app", "passphrase", *data]
    subprocess.run(command, input=PASSPHRASE, text=True, check=True, capture_output=True)
    with server_in_thread(tmp_path, public=True) as made:
        yield made


def test_the_owner_signs_in_works_and_signs_out_without_scripts(browser, address):
    context = browser.new_context(viewport=PHONE, java_script_enabled=False)
    page = context.new_page()
    watch = Watch(address)
    watch.over(page).goto(f"{address}/batteries/new")
    # By keys alone, as a passphrase is typed.
    page.keyboard.press("Tab")
    page.get_by_label("Passphrase").focus()
    page.keyboard.type(PASSPHRASE)
    page.keyboard.press("Enter")
    page.get_by_label("Name").fill("Cabin")
    page.get_by_label("Rated capacity").fill("105")
    page.get_by_role("button", name="Add battery").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Cabin")
    page.get_by_role("link", name="Settings").click()
    page.get_by_role("link", name="Who gets in").click()
    expect(page.get_by_text("this device")).to_be_visible()
    page.get_by_role("button", name="Sign out").click()
    expect(page).to_have_url(f"{address}/sign-in")
    page.go_back()
    expect(page.get_by_text("this device")).to_have_count(0)
    page.goto(address)
    expect(page.get_by_role("heading", level=1)).to_have_text("Sign in")
    assert watch.complaints == []
    context.close()


def test_the_switch_of_the_look_keeps_the_page_of_a_signed_in_device(browser, address):
    page = browser.new_page()
    watch = Watch(address)
    watch.over(page).goto(address)
    page.get_by_label("Passphrase").fill(PASSPHRASE)
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Dark").click()
    page.wait_for_selector("html[data-look=dark]")
    page.reload()
    assert page.evaluate("document.documentElement.dataset.look") == "dark"
    assert watch.complaints == []
    page.close()
