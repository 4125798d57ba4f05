"""Photos of a test: stored whole or not at all, kept in the records, restored from the bin."""

import pytest
from PIL import Image
from sqlalchemy import update

from app.domain.entities.meter import MeterKind
from app.domain.errors import InvalidInput, NotFound, StaleEdit, StorageError
from app.domain.photo import MAX_PER_TEST
from app.services.entities import batteries, bin, discharges, photos
from app.services.exchange import records_archive
from app.storage.schema.packing import unpack_row
from app.storage.schema.tables import PhotoRow
from tests.archives import empty_store, entries_of, exported
from tests.builders import NOW, battery_details, discharge_details
from tests.pictures import PHOTO, as_file, halves, opened


@pytest.fixture
def test(store):
    battery = batteries.add_battery(store, battery_details())
    return discharges.add_discharge(store, battery.id, discharge_details(), MeterKind.SHUNT, NOW)


@pytest.fixture
def other(tmp_path):
    made = empty_store(tmp_path / "other")
    yield made
    made.engine.dispose()


def files(count):
    """So many different pictures."""
    colours = [(i * 15, 0, 0) for i in range(count)]
    made = (as_file(Image.new("RGB", (8, 8), colour), "PNG") for colour in colours)
    return [(f"{i}.png", data) for i, data in enumerate(made)]


def add(store, test, *given, caption=""):
    return photos.add_photos(store, test.id, list(given) or [("a.jpg", PHOTO)], caption, NOW)


def of(store, test):
    return discharges.show_discharge(store, test.id).photos


def test_a_photo_is_stored_redrawn_with_its_size_and_caption(store, test):
    (photo,) = add(store, test, ("a.png", as_file(halves((3200, 800)), "PNG")), caption="shunt")
    assert of(store, test) == (photo,)
    assert (photo.width, photo.height, photo.caption) == (1600, 400, "shunt")
    assert opened(photos.photo_jpeg(store, photo.id)).size == (1600, 400)


def test_without_a_caption_it_is_called_by_the_date_of_its_test(store, test):
    (photo,) = add(store, test)
    assert photo.words(test.details.started_local.date()) == "Photo of the meter, 15 November 2026"


def test_one_file_that_cannot_be_taken_keeps_all_out_and_all_are_named(store, test):
    with pytest.raises(InvalidInput) as caught:
        add(store, test, ("good.jpg", PHOTO), ("bad.txt", b"x"), ("worse.jpg", PHOTO[:40]))
    assert [problem.value for problem in caught.value.problems] == ["bad.txt", "worse.jpg"]
    assert of(store, test) == ()


def test_the_same_picture_twice_is_stored_once(store, test):
    (photo,) = add(store, test, ("a.jpg", PHOTO), ("b.jpg", PHOTO))
    assert add(store, test) == []
    assert of(store, test) == (photo,)


def test_a_test_takes_so_many_photos_and_no_more(store, test):
    with pytest.raises(
        InvalidInput, match=f"“{MAX_PER_TEST + 1}” does not fit. It needs at most 12"
    ):
        add(store, test, *files(MAX_PER_TEST + 1))
    add(store, test, *files(MAX_PER_TEST))
    with pytest.raises(InvalidInput, match=r"“13” does not fit. It needs at most 12"):
        add(store, test)
    photos.bin_photo(store, 1, NOW)
    add(store, test)
    with pytest.raises(InvalidInput, match="at most 12"):
        photos.restore_photo(store, 1)
    assert len(of(store, test)) == MAX_PER_TEST


def test_no_file_at_all_is_refused(store, test):
    with pytest.raises(InvalidInput, match="photos”: one or more pictures"):
        photos.add_photos(store, test.id, [], "", NOW)


def test_another_caption_keeps_those_it_replaced(store, test):
    (photo,) = add(store, test, caption="one")
    for caption in ("two", "two", "three"):
        photos.change_caption(store, photo.id, caption, NOW)
    assert of(store, test)[0].caption == "three"
    with store.engine.connect() as connection:
        query = "SELECT thing, thing_id, version, before FROM revision ORDER BY id"
        kept = connection.exec_driver_sql(query).all()
    assert [row[:3] for row in kept] == [("photo", photo.id, 1), ("photo", photo.id, 2)]
    before = [unpack_row(row.before) for row in kept]
    assert [row["caption"] for row in before] == ["one", "two"]
    assert "jpeg" not in before[0]


def test_a_photo_goes_to_the_bin_and_back(store, test):
    (photo,) = add(store, test, caption="the label")
    photos.bin_photo(store, photo.id, NOW)
    assert of(store, test) == ()
    (item,) = bin.list_bin(store)
    assert bin.count_binned(store) == 1
    assert (item.kind, item.id, item.name) == ("photo", photo.id, "Bench battery, the label")
    with pytest.raises(NotFound):
        photos.photo_jpeg(store, photo.id)
    photos.restore_photo(store, photo.id)
    assert of(store, test) == (photo,)
    with pytest.raises(StaleEdit, match="not in the bin"):
        photos.restore_photo(store, photo.id)


def test_a_photo_is_not_restored_to_a_test_or_battery_in_the_bin(store, test):
    (photo,) = add(store, test)
    photos.bin_photo(store, photo.id, NOW)
    batteries.bin_battery(store, test.battery_id, NOW)
    with pytest.raises(InvalidInput, match="its battery restored first"):
        photos.restore_photo(store, photo.id)
    batteries.restore_battery(store, test.battery_id)
    discharges.bin_discharge(store, test.id, NOW)
    with pytest.raises(InvalidInput, match="its test restored first"):
        photos.restore_photo(store, photo.id)
    assert "Photo of the meter" in " ".join(item.name for item in bin.list_bin(store))


def test_photos_of_a_test_in_the_bin_are_not_shown_and_come_back_with_it(store, test):
    (photo,) = add(store, test)
    for away, back, number in (
        (discharges.bin_discharge, discharges.restore_discharge, test.id),
        (batteries.bin_battery, batteries.restore_battery, test.battery_id),
    ):
        away(store, number, NOW)
        for call in (photos.photo_jpeg, photos.get_photo):
            with pytest.raises(NotFound):
                call(store, photo.id)
        with pytest.raises(NotFound):
            photos.change_caption(store, photo.id, "x", NOW)
        with pytest.raises(NotFound):
            add(store, test, ("b.jpg", as_file(halves((20, 20)))))
        back(store, number)
        assert photos.get_photo(store, photo.id) == photo


def test_damaged_bytes_are_not_shown(store, test):
    (photo,) = add(store, test)
    with store.engine.begin() as connection:
        connection.execute(update(PhotoRow).values(jpeg=b"\xff\xd8\xff\xd9"))
    with pytest.raises(StorageError, match="Photo 1 is not what was stored"):
        photos.photo_jpeg(store, photo.id)


def test_photos_come_back_from_the_records_byte_for_byte(store, test, other, tmp_path):
    add(store, test, ("a.jpg", PHOTO), ("b.png", as_file(halves((1700, 900)), "PNG")), caption="ä")
    photos.change_caption(store, 1, "another", NOW)
    photos.bin_photo(store, 2, NOW)
    first = exported(store, tmp_path / "a.zip")
    kept = {
        name: data for name, data in entries_of(tmp_path / "a.zip").items() if "photos/" in name
    }
    assert photos.photo_jpeg(store, 1) in kept.values()
    assert len(kept) == 2
    records_archive.restore_records(other, tmp_path / "a.zip")
    assert exported(other, tmp_path / "b.zip") == first
    assert of(other, test) == of(store, test)
    assert photos.photo_jpeg(other, 1) == photos.photo_jpeg(store, 1)
    photos.restore_photo(other, 2)
    assert photos.get_photo(other, 2).caption == "ä"


def test_photos_of_two_records_come_together_without_doubles(store, test, other, tmp_path):
    add(store, test, ("a.jpg", PHOTO))
    exported(store, tmp_path / "a.zip")
    records_archive.restore_records(other, tmp_path / "a.zip")
    add(store, test, ("b.jpg", as_file(halves((40, 40)))))
    photos.change_caption(store, 1, "mine", NOW)
    exported(store, tmp_path / "b.zip")
    records_archive.restore_records(other, tmp_path / "b.zip", merge=True)
    there = of(other, test)
    assert [(photo.width, photo.height) for photo in there] == [(80, 40), (40, 40)]
    records_archive.restore_records(other, tmp_path / "b.zip", merge=True)
    assert of(other, test) == there
