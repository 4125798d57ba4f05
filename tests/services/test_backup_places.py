"""Where backups go: beside the data file, to a chosen folder, or to what stands in for it."""

from pathlib import Path

import pytest

from app.domain.errors import InvalidInput
from app.services.backups import backup_places, backups
from app.services.backups.backup_places import NOTE_NAME
from app.services.store import open_store
from app.settings import MIGRATIONS
from app.storage.backup.backup_files import BackupTrouble, backups_in
from tests.builders import NOW
from tests.services.backing_up import HOUR, full, note

pytestmark = pytest.mark.data_file


def folder_of(engine):
    return backups.show_backups(engine).chosen


def test_without_a_choice_it_goes_beside_the_data_file(engine, default):
    assert note(engine) == "There is no backup yet."
    outcome = backups.back_up(engine, NOW)
    assert outcome.path.parent == default
    assert outcome.trouble == ""
    assert note(engine) == ""
    assert backups.show_backups(engine).state.good_path == outcome.path


def test_the_chosen_folder_takes_it_and_carries_a_note(engine, chosen, default):
    assert (chosen / NOTE_NAME).read_text().startswith("Fadeline puts backups")
    assert backups.back_up(engine, NOW).path.parent == chosen
    assert not default.exists()


def test_an_empty_choice_goes_back_beside_the_data_file_and_keeps_the_old_ones(
    engine, chosen, default
):
    made = backups.back_up(engine, NOW).path
    backups.choose_folder(engine, "")
    assert backups.back_up(engine, NOW).path.parent == default
    assert made.exists()
    backups.choose_folder(engine, str(default))
    assert folder_of(engine) is None


def test_an_unplugged_stick_is_said_and_the_other_folder_stands_in(engine, chosen, default):
    gone = chosen.rename(chosen.with_name("gone"))
    outcome = backups.back_up_when_due(engine, NOW)
    assert outcome.path.parent == default
    assert "is not there. Was its disk unplugged?" in outcome.trouble
    assert f"went to {default} instead" in outcome.trouble
    assert not chosen.exists(), "no folder is made where the stick should be"
    assert note(engine) == "The last backup had a problem."
    assert backups.back_up_when_due(engine, NOW + HOUR) is None, "one a day stands in"
    gone.rename(chosen)
    outcome = backups.back_up_when_due(engine, NOW + HOUR)
    assert outcome.path.parent == chosen, "back again it wants one at once"
    assert note(engine, NOW + HOUR) == ""


def test_an_empty_place_where_the_stick_was_is_not_taken_for_it(engine, chosen, default):
    (chosen / NOTE_NAME).unlink()
    outcome = backups.back_up(engine, NOW)
    assert outcome.path.parent == default
    assert "choose it again" in outcome.trouble
    assert list(chosen.iterdir()) == []


def test_a_folder_of_another_data_file_is_left_to_it(engine, chosen, default, tmp_path):
    """Two that thinned one folder would each remove what the other needs."""
    database = tmp_path / "other" / "f.db"
    other = open_store(database.parent, database, tmp_path / "other" / "s", MIGRATIONS, 200)
    backups.back_up(engine, NOW)
    assert "holds backups of another data file" in refused(other.engine, str(chosen))
    backups.choose_folder(engine, str(chosen))
    text = (chosen / NOTE_NAME).read_text()
    (chosen / NOTE_NAME).write_text(text.replace(text[-20:], "0" * 18 + ".\n"))
    outcome = backups.back_up(engine, NOW)
    assert outcome.path.parent == default
    assert "another data file's note" in outcome.trouble
    other.engine.dispose()


def test_a_full_stick_is_said_and_tried_again_without_filling_the_other(
    engine, chosen, default, monkeypatch
):
    full(monkeypatch, chosen)
    assert backups.back_up_when_due(engine, NOW).path.parent == default
    again = backups.back_up_when_due(engine, NOW + HOUR)
    assert again.path is None
    assert "full" in again.trouble
    assert len(backups_in(default)) == 1
    state = backups.kept_state(engine)
    assert state.last.path is None
    assert state.good_at == NOW, "the last good one is still known"


def test_where_no_folder_takes_it_that_is_said_and_nothing_raised(engine, chosen, monkeypatch):
    def copy(*_):
        raise BackupTrouble("It is full.")

    monkeypatch.setattr(backup_places, "copy_checked", copy)
    outcome = backups.back_up(engine, NOW)
    assert outcome.path is None
    assert outcome.trouble == "It is full. It is full."
    assert note(engine) == "The last backup had a problem."


def test_a_default_folder_that_is_a_file_is_said(engine, default):
    default.write_text("in the way")
    outcome = backups.back_up(engine, NOW)
    assert outcome.path is None
    assert f"The folder {default} cannot be made" in outcome.trouble
    assert default.read_text() == "in the way"


def refused(engine, text):
    with pytest.raises(InvalidInput) as caught:
        backups.choose_folder(engine, text)
    (problem,) = caught.value.problems
    assert problem.field == "folder"
    return problem.sentence


def test_a_folder_that_cannot_be_is_refused_and_the_choice_stays(engine, chosen, tmp_path):
    (tmp_path / "file").write_text("in the way")
    assert "whole path" in refused(engine, "backups")
    assert "this is a file" in refused(engine, str(tmp_path / "file"))
    assert "used (Not a directory)" in refused(engine, str(tmp_path / "file" / "in"))
    assert "a folder that is there" in refused(engine, str(tmp_path / "no" / "such"))
    assert "too long" in refused(engine, str(tmp_path / ("x" * 300)))
    data = Path(str(engine.url.database)).parent
    assert "outside" in refused(engine, str(data))
    assert "outside" in refused(engine, str(data / "staging"))
    assert not (tmp_path / "no").exists()
    assert folder_of(engine) == chosen


def test_a_folder_that_cannot_be_written_to_is_refused(engine, stick, monkeypatch):
    def denied(*_, **__):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "write_text", denied)
    assert "can be written to (Permission denied)" in refused(engine, str(stick))
    assert folder_of(engine) is None


def test_a_new_folder_in_one_that_is_there_is_made(engine, stick):
    backups.choose_folder(engine, str(stick / "fadeline"))
    assert backups.back_up(engine, NOW).path.parent == stick / "fadeline"
