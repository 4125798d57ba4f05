"""Photos on the page of a test: taken in, shown to their owner, refused with the reason."""

import pytest

from app.domain.photo import MAX_PER_TEST
from app.services.access import shares
from app.services.entities import discharges, photos
from app.settings import STATIC
from tests.builders import NOW
from tests.pictures import PHOTO, RED, as_file, exif, halves, near, opened
from tests.web.conftest import refusals_of, soup

PLACE = "/discharges/5/photos"


def send(client, *given, caption=""):
    files = [("photos", (name, data, "image/jpeg")) for name, data in given]
    return client.post(PLACE, data={"caption": caption}, files=files or None)


@pytest.fixture
def photo(client, tested):
    send(client, ("a.jpg", PHOTO), caption="the shunt's display")


def shown(client):
    return soup(client.get("/discharges/5")).select(".photos > li")


def refusal(response):
    assert response.status_code == 422
    page = soup(response)
    return refusals_of(page), page


def test_a_test_without_photos_offers_a_plain_form_for_several(client, tested):
    page = soup(client.get("/discharges/5"))
    assert not page.select(".photos")
    form = page.select_one(f"form[action='{PLACE}']")
    assert (form["method"], form["enctype"]) == ("post", "multipart/form-data")
    chosen = form.select_one("input[type=file]")
    assert chosen["accept"] == "image/*"
    assert chosen.has_attr("multiple")
    assert "never shows them on a shared page" in form.text


def test_several_photos_are_taken_at_once(client, tested):
    answer = send(client, ("a.jpg", PHOTO), ("b.png", as_file(halves((30, 60)), "PNG")))
    assert answer.status_code == 200
    assert answer.url.path == "/discharges/5"
    assert len(shown(client)) == 2


def test_a_thumbnail_has_its_place_before_it_is_loaded(client, photo):
    (item,) = shown(client)
    assert {name: item.img[name] for name in ("src", "width", "height", "alt", "loading")} == {
        "src": "/photos/1.jpg",
        "width": "80",
        "height": "40",
        "alt": "the shunt's display",
        "loading": "lazy",
    }
    assert item.p.text == "the shunt's display"
    assert item.a["href"] == "/photos/1.jpg"
    # The style gives one side and leaves the other to width and height.
    sheet = " ".join((STATIC / "charts.css").read_text().split())
    assert ".photos img { display: block; width: 100%; height: auto;" in sheet


def test_without_a_caption_the_picture_is_named_by_its_test(client, tested):
    send(client, ("a.jpg", PHOTO))
    (item,) = shown(client)
    assert item.img["alt"] == item.p.text == "Photo of the meter, 15 November 2026"
    assert item.select_one("input")["value"] == ""


def test_a_picture_is_served_as_such_to_be_kept_by_this_browser_alone(client, photo):
    answer = client.get("/photos/1.jpg")
    assert opened(answer.content).size == (80, 40)
    assert answer.headers["content-type"] == "image/jpeg"
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["cache-control"] == "private, no-cache"
    again = client.get("/photos/1.jpg", headers={"If-None-Match": answer.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert again.headers["cache-control"] == "private, no-cache"
    other = client.get("/photos/1.jpg", headers={"If-None-Match": '"another"'})
    assert other.status_code == 200


def test_what_the_camera_wrote_is_not_served(client, store, tested):
    send(client, ("a.jpg", as_file(halves(), exif=exif(6))))
    served = client.get("/photos/1.jpg").content
    assert b"SECRETMAKER" not in served
    assert dict(opened(served).getexif()) == {}
    assert near(opened(served).getpixel((20, 5)), RED), "it stands upright"


def test_no_shared_page_shows_or_serves_a_photo(client, store, photo):
    client.post("/batteries/1/shares", data={"test": "5"})
    token = shares.get_share(store, 1).token
    page = client.get(f"/shared/{token}")
    assert page.status_code == 200
    assert "/photos/" not in page.text
    assert "the shunt's display" not in page.text
    assert client.get(f"/shared/{token}/photos/1.jpg").status_code == 404


def test_a_caption_is_changed(client, photo):
    client.post("/photos/1", data={"caption_1": "the label <b>"})
    (item,) = shown(client)
    assert item.img["alt"] == item.p.text == "the label <b>"


def test_too_long_a_caption_is_refused_beside_its_photo_and_kept(client, photo):
    words, page = refusal(client.post("/photos/1", data={"caption_1": "c" * 201}))
    assert "caption”: “ccc" in words
    assert "at most 200 characters (these are 201)" in words
    item = page.select_one(".photos > li")
    assert item.details.has_attr("open")
    assert item.select_one("input")["value"] == "c" * 201
    assert item.img["alt"] == "the shunt's display"


def test_a_photo_goes_to_the_bin_and_comes_back_from_its_page(client, photo):
    answer = client.post("/bin/photo/1")
    assert answer.url.path == "/discharges/5"
    assert shown(client) == []
    assert client.get("/photos/1.jpg").status_code == 404
    listed = soup(client.get("/bin")).select_one(".plain li").text
    assert "Bench battery, the shunt's display" in listed
    assert "photo, since" in listed
    assert client.post("/bin/photo/1/restore").url.path == "/discharges/5"
    assert len(shown(client)) == 1


def test_a_refused_file_is_named_with_the_way_out_and_the_caption_is_kept(client, store, tested):
    heic = b"\0\0\0\x18ftypheic" + b"\0" * 40
    words, page = refusal(
        send(client, ("IMG_7.HEIC", heic), ("notes.txt", b"hello"), caption="kept")
    )
    assert "photo”: “IMG_7.HEIC”" in words
    assert "Set the phone to save JPEG" in words
    assert "photo”: “notes.txt” does not fit. It needs a JPEG, PNG or WebP picture" in words
    form = page.select_one(f"form[action='{PLACE}']")
    assert form.parent.has_attr("open")
    assert form.select_one("#caption")["value"] == "kept"
    assert form.select(".problem")
    assert discharges.show_discharge(store, 5).photos == ()


def test_no_file_is_refused(client, tested):
    words, _ = refusal(send(client))
    assert "photos”: one or more pictures" in words


def test_a_file_of_more_than_twenty_megabytes_is_refused(client, tested):
    words, _ = refusal(send(client, ("big.jpg", b"\xff" * 20_000_001)))
    assert "at most 20 MB" in words


def test_a_full_test_says_so_instead_of_asking_for_more(client, store, tested):
    files = [(f"{i}.png", as_file(halves((10 + 2 * i, 10)), "PNG")) for i in range(MAX_PER_TEST)]
    photos.add_photos(store, 5, files, "", NOW)
    page = soup(client.get("/discharges/5"))
    assert not page.select("input[type=file]")
    assert "A test can have at most 12 photos." in page.text
    words, _ = refusal(send(client, ("a.jpg", PHOTO)))
    assert "photos”: “13” does not fit. It needs at most 12 to a test" in words


@pytest.mark.parametrize(
    ("path", "status", "words"),
    [
        ("/photos/9.jpg", 404, "There is no photo 9; it may be in the bin."),
        (
            "/photos/x.jpg",
            404,
            "There is no such page. Check the address, or start from the list of batteries.",
        ),
        # The form for a caption goes there; nothing is to be read.
        ("/photos/1.png", 405, "That did not work"),
        ("/photos/1", 405, "That did not work"),
    ],
)
def test_what_is_no_photo_is_not_found(client, photo, path, status, words):
    answer = client.get(path)
    assert answer.status_code == status
    assert words in soup(answer).main.text


def test_photos_of_a_test_that_is_not_there_are_not_taken(client, tested):
    files = {"photos": ("a.jpg", PHOTO, "image/jpeg")}
    for answer, words in (
        (client.post("/discharges/99/photos", files=files), "There is no test 99"),
        (client.post("/photos/99", data={"caption_99": "x"}), "There is no photo 99"),
        (client.post("/bin/photo/99"), "There is no photo 99"),
    ):
        assert answer.status_code == 404
        assert words in soup(answer).main.text
