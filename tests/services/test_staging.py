"""Files that wait for their preview, in a folder that may have been its owner's before."""

import os
import time
from datetime import timedelta

import pytest

from app.domain.errors import InvalidInput
from app.services.exchange import upload_staging

LOG = b"time_s,A\n0,9\n60,9\n"
TWO_DAYS_AGO = time.time() - timedelta(days=2).total_seconds()


def aged(path):
    os.utime(path, (TWO_DAYS_AGO, TWO_DAYS_AGO), follow_symlinks=False)
    return path


def test_a_file_that_nobody_came_back_for_is_removed_after_a_day(store):
    left = aged(upload_staging.staged_path(store, upload_staging.stage(store, LOG).name))
    kept = upload_staging.staged_path(store, upload_staging.stage(store, LOG).name)
    upload_staging.forget_old(store)
    assert not left.exists()
    assert kept.exists()


@pytest.mark.parametrize("name", ["photo.jpg", "my-photos-of-the-battery", "upload-1"])
def test_an_old_file_of_the_owner_s_own_stays(store, name):
    own = store.staging / name
    own.write_bytes(b"own")
    aged(own)
    upload_staging.stage(store, LOG)
    assert own.read_bytes() == b"own"


def test_a_folder_in_it_stops_no_upload(store):
    folder = store.staging / "upload-aaaaaaaaaaaaaaaaaaaaaaaa"
    folder.mkdir()
    aged(folder)
    assert upload_staging.stage(store, LOG).source is not None


def test_a_link_is_never_followed_or_removed(store, tmp_path):
    elsewhere = tmp_path / "letter.txt"
    elsewhere.write_bytes(LOG)
    link = store.staging / "upload-bbbbbbbbbbbbbbbbbbbbbbbb"
    link.symlink_to(elsewhere)
    aged(link)
    aged(elsewhere)
    upload_staging.forget_old(store)
    with pytest.raises(InvalidInput, match="no longer there"):
        upload_staging.look_at(store, link.name, None)
    upload_staging.drop_staged(store, link.name)
    assert link.is_symlink()
    assert elsewhere.read_bytes() == LOG
