"""The first visit, on a phone whose browser runs no script: the example, a word, the way out."""

from tests.live_server import server_in_thread, serving


def test_the_example_and_the_words_work_by_touch_and_without_script(browser, tmp_path):
    with server_in_thread(tmp_path) as address:
        phone = browser.new_context(
            viewport={"width": 320, "height": 640}, has_touch=True, java_script_enabled=False
        )
        page = phone.new_page()
        page.goto(address)
        page.get_by_role("button", name="Open the example").tap()
        page.get_by_role("link", name="Marmot galley bank", exact=True).tap()
        told = page.locator("#word-rated_capacity")
        assert not told.is_visible()
        page.get_by_role("button", name="Rated", exact=True).tap()
        assert "The amp-hours the label promises" in told.inner_text()
        box = told.bounding_box()
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= 320
        page.keyboard.press("Escape")
        assert not told.is_visible()
        page.get_by_role("button", name="Leave the example").tap()
        page.wait_for_url(f"{address}/")
        assert "Marmot" not in page.content()
        phone.close()


def test_a_stopped_server_leaves_nothing_of_the_example(browser, tmp_path, monkeypatch):
    monkeypatch.setenv("TMPDIR", str(tmp_path / "temporary"))
    (tmp_path / "temporary").mkdir()
    with serving(tmp_path) as address:
        page = browser.new_page()
        page.goto(address)
        page.get_by_role("button", name="Open the example").click()
        assert list((tmp_path / "temporary").glob("fadeline-example-*/fadeline.db"))
        page.close()
    assert not list((tmp_path / "temporary").glob("fadeline-example-*"))
