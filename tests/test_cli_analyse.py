"""What the command line can say of a file, and what it asks where a file can mean two things."""

import json

import pytest
from typer.testing import CliRunner

from app.analysis.evidence.result import analyse_test
from app.cli.commands import app
from app.domain.chemistry import Chemistry
from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import ChargeCondition, DischargeDetails, EndReason
from app.ingest.reader import read_file
from tests.builders import NOW
from tests.ingest.workbooks import fill, xlsx


def hourly(heading, row, hours=11):
    return "\n".join(
        [heading, *(row.format(h=h, v=13.2 - h / 10, s=3600 * h) for h in range(hours))]
    )


UNNAMED = hourly("time (h),current,V", "{h},9589.9,{v:.2f}")
PLAIN = hourly("time (h),current (A),voltage (V)", "{h},9,{v:.2f}")


@pytest.fixture
def run(tmp_path):
    def invoke(text, *options):
        (tmp_path / "log.csv").write_text(text)
        return CliRunner().invoke(app, ["analyse", str(tmp_path / "log.csv"), "--json", *options])

    return invoke


def record(done):
    assert done.exit_code == 0, done.output
    (one,) = json.loads(done.stdout)
    return one


def refused(done):
    assert done.exit_code == 1, done.output
    assert json.loads(done.stdout) == []
    return done.stderr


def test_a_current_without_a_unit_is_refused_with_what_each_gives(run):
    said = refused(run(UNNAMED, "--rated-ah", "100"))
    # 9589.9 for ten hours.
    assert "95.9 Ah: --column current_ma=current" in said
    assert "95899 Ah: --column current_a=current" in said
    assert record(run(UNNAMED, "--column", "current_ma=current"))["delivered_ah"] == pytest.approx(
        95.899
    )


def test_the_rated_capacity_may_leave_amps_alone(run):
    heavy = hourly("time (h),current,V", "{h},90,{v:.2f}")
    assert "--column" in refused(run(heavy))
    assert record(run(heavy, "--rated-ah", "1000"))["delivered_ah"] == pytest.approx(900)
    # Milliamps that fit are still asked about: 0.9 Ah of 1 Ah.
    assert "--column" in refused(run(heavy, "--rated-ah", "1"))


@pytest.mark.parametrize(("unit", "ah"), [("s", 5.0), ("min", 300.0)])
def test_a_time_that_could_be_two_units(run, unit, ah):
    text = "time,A\n" + "".join(f"{10 * i},9\n" for i in range(201))
    said = refused(run(text))
    assert "5 Ah: --time-unit s" in said
    assert "300 Ah: --time-unit min" in said
    assert record(run(text, "--time-unit", unit))["delivered_ah"] == pytest.approx(ah)


def test_which_of_two_currents(run):
    text = hourly("time (h),Fridge current (A),Pump current (A)", "{h},3,9")
    said = refused(run(text))
    assert '30 Ah: --column current_a="Fridge current (A)"' in said
    assert '90 Ah: --column current_a="Pump current (A)"' in said
    assert record(run(text, "--column", "current=Pump current (A)"))["delivered_ah"] == 90
    assert record(run(text, "--column", "current=3"))["delivered_ah"] == 90


@pytest.mark.parametrize(
    ("ended", "kind"),
    [
        ("protection", "measured"),
        ("cut-off", "at_least"),
        ("gauge", "at_least"),
        ("stopped", "at_least"),
        ("unknown", "at_least"),
    ],
)
def test_why_it_ended_decides_what_is_proven(run, ended, kind):
    # Without a voltage nothing contradicts the protection, and nothing bears out the cut-off.
    text = hourly("time (h),current (A)", "{h},9")
    assert record(run(text, "--ended", ended))["kind"] == kind


def test_the_moment_of_the_end_is_counted(run):
    one = record(run(PLAIN, "--ended-after", "10.5"))
    assert one["delivered_ah"] == pytest.approx(94.5)


@pytest.mark.parametrize(
    ("charge", "kind"), [("full-rested", "measured"), ("full", "measured"), ("unknown", "at_least")]
)
def test_how_full_it_was(run, charge, kind):
    text = hourly("time (h),current (A)", "{h},9")
    one = record(run(text, "--ended", "protection", "--charge", charge))
    assert one["kind"] == kind
    assert not any("a file cannot say" in caveat for caveat in one["caveats"])


def test_the_meter_s_limits(run):
    rough = record(run(PLAIN, "--meter", "clamp"))
    fine = record(run(PLAIN, "--meter", "laboratory"))
    # Gains within 3 % and 0.5 %.
    lines = [
        next(line for line in one["budget"] if line["code"] == "gain") for one in (rough, fine)
    ]
    assert [line["limit"] for line in lines] == [3.0, 0.5]
    assert not any("No meter" in caveat for caveat in rough["caveats"])


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (PLAIN.replace(",9,", ",90,"), "the currents are a tenth? then 90 Ah"),
        (PLAIN.replace("5,9,", "5,0.9,"), "9 A? then 90 Ah"),
        (PLAIN.replace("12.70", "127.0"), "12.7 V?; right as entered?."),
    ],
)
def test_what_can_hardly_be_is_refused_unless_it_is_meant(run, text, words):
    said = refused(run(text, "--rated-ah", "120"))
    assert words in said
    assert "--meant" in said
    assert record(run(text, "--rated-ah", "120", "--meant"))["delivered_ah"] > 0


@pytest.mark.parametrize(("odd", "charge"), [("0.9", 81.9), ("90", 171.0)])
def test_a_lone_reading_that_is_meant_is_counted_as_it_stands(run, odd, charge):
    # Ten hours at 9 A are 90 Ah; the one reading stands for an hour: 8.1 less, or 81 more.
    one = record(run(PLAIN.replace("5,9,", f"5,{odd},"), "--meant"))
    assert one["delivered_ah"] == pytest.approx(charge)
    assert not any("counted it as 9 A" in caveat for caveat in one["caveats"])


def test_more_than_a_battery_can_give_is_never_measured_whoever_means_it(run):
    # Ten hours at 90 A are 900 Ah; a battery of 120 Ah gives up to 1.2 times that, 144 Ah.
    impossible = PLAIN.replace(",9,", ",90,")
    for ended in ("protection", "stopped"):
        one = record(run(impossible, "--rated-ah", "120", "--meant", "--ended", ended))
        assert one["kind"] == "unusable"
        assert "900 Ah" in one["reasons"][0]
        assert "at most 144 Ah" in one["reasons"][0]
    # 90 Ah of 75 are just possible; with half of the hour in which it may have ended they are not.
    empty = PLAIN.replace("10,9,12.20", "10,9,10.50")
    just = record(run(empty, "--rated-ah", "75", "--ended", "protection"))
    assert (just["kind"], just["capacity_ah"]) == ("at_least", 90.0)
    assert record(run(empty, "--rated-ah", "79", "--ended", "protection"))["kind"] == "measured"


def test_a_log_that_stops_in_the_flat_part_is_a_lower_bound_whatever_ended_it(run):
    one = record(run(PLAIN, "--ended", "protection"))
    assert one["kind"] == "at_least"
    assert "hardly below the mean of 12.70 V" in one["reasons"][0]


def test_watts_that_contradict_the_current_are_a_question(run):
    # 9 A x 12.5 V are 112.5 W: ten times as much stands there.
    said = refused(run(hourly("time (h),current (A),voltage (V),power (W)", "{h},9,12.5,1125")))
    assert "The column of watts contradicts the currents" in said
    assert "the watts are right? then 900 Ah" in said
    assert "right as entered? then 90 Ah" in said
    right = hourly("time (h),current (A),voltage (V),power (W)", "{h},9,12.5,112.5")
    assert record(run(right))["delivered_ah"] == pytest.approx(90)


@pytest.mark.parametrize(
    "options",
    [
        ("--ended", "tired"),
        ("--charge", "half"),
        ("--meter", "eye"),
        ("--time-unit", "d"),
        ("--column", "current_a"),
        ("--column", "amps=current"),
        ("--ended-after", "0"),
    ],
)
def test_a_word_that_is_none_is_wrong_usage(run, options):
    assert run(PLAIN, *options).exit_code == 2


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--column", "current_a=Strom"), "one of the headings: time (h), current (A), voltage"),
        (("--column", "voltage=9"), "one of the headings"),
    ],
)
def test_a_heading_that_is_not_there_is_refused_by_the_ones_that_are(run, options, words):
    assert words in refused(run(PLAIN, *options))


def test_clock_times_have_no_unit_to_choose(run):
    text = hourly("time,current (A)", "{h}:00,9")
    assert "a column of plain times" in refused(run(text, "--time-unit", "s"))


def test_what_is_added_for_the_end_is_an_amount_with_its_reason(run, tmp_path):
    text = hourly("time (h),current (A)", "{h},9")
    one = record(run(text, "--ended", "protection"))
    # Half of the hour after the last reading: 4.5 Ah on 90.
    assert one["end_shift_ah"] == pytest.approx(4.5)
    assert one["capacity_ah"] == pytest.approx(94.5)
    assert "not noted" in one["end_note"]
    done = CliRunner().invoke(app, ["analyse", str(tmp_path / "log.csv"), "--ended", "protection"])
    assert (
        "90 Ah counted, +4.50 Ah for the moment of the end "
        "(not noted: some time after the last reading)." in done.stdout
    )
    assert record(run(text))["end_note"] == ""


WARM = hourly("time (h),current (A),battery temperature (C)", "{h},9,35")
LABEL = ("--rated-ah", "100", "--chemistry", "agm", "--nominal-v", "12")


def test_without_a_label_it_says_what_the_result_holds_for(run):
    one = record(run(WARM, "--ended", "protection", "--rated-ah", "100"))
    assert one["corrections"] == []
    assert any("holds for 9 A and 35 °C. A correction needs" in text for text in one["caveats"])


def test_with_what_the_label_says_it_is_corrected_as_on_the_page(run, tmp_path):
    readings = read_file(WARM.encode()).readings
    battery = BatteryDetails("", Chemistry.AGM, 12, 100, 20)
    test = DischargeDetails(NOW, 0, ChargeCondition.FULL, EndReason.PROTECTION, readings)
    page = analyse_test(test, battery, None)
    one = record(run(WARM, "--ended", "protection", *LABEL, "--rated-hours", "20"))
    assert one["capacity_ah"] == page.capacity_ah
    assert one["expanded_uncertainty_ah"] == page.budget.expanded_ah
    # Both corrections count: 35 is not 25 °C, and 9 A not the 5 A of 20 hours.
    assert [part["factor"] == 1 for part in one["corrections"]] == [False, False]
    assert not any("Not corrected" in text for text in one["caveats"])
    done = CliRunner().invoke(
        app, ["analyse", str(tmp_path / "log.csv"), "--ended", "protection", *LABEL]
    )
    assert "(temperature): From 35.0 °C to 25 °C" in done.stdout
    assert "× 1.0000 (rate): The label's hour rate is not known" in done.stdout


def test_a_number_that_is_none_is_named_with_its_range_and_a_unit_may_stand_behind_it(run):
    done = run(PLAIN, "--rated-ah", "abc")
    assert done.exit_code == 2
    assert "'--rated-ah'" in done.output
    assert "“abc” does not fit. It needs a number from 0.1 to 100000 Ah." in done.output
    assert record(run(PLAIN, "--rated-ah", "100 Ah"))["rated_ah"] == 100


def test_half_a_label_is_wrong_usage_that_says_what_is_missing(run):
    done = run(PLAIN, "--chemistry", "agm")
    assert done.exit_code == 2
    assert "--nominal-v" in done.output


def test_without_options_it_is_as_before(run):
    one = record(run(PLAIN))
    assert one["delivered_ah"] == pytest.approx(90)
    assert one["kind"] == "at_least"
    assert any("a file cannot say" in caveat for caveat in one["caveats"])


@pytest.fixture
def run_bytes(tmp_path):
    def invoke(data, *options):
        (tmp_path / "log").write_bytes(data)
        return CliRunner().invoke(app, ["analyse", str(tmp_path / "log"), "--json", *options])

    return invoke


def test_a_workbook_is_analysed_and_a_sheet_of_several_is_named(run_bytes):
    rows = [("Time (h)", "A", "V"), *((h, 9.0, 13.2 - h / 10) for h in range(11))]
    assert record(run_bytes(xlsx(*rows)))["delivered_ah"] == pytest.approx(90)
    two = xlsx(*rows, more=lambda book: fill(book.create_sheet("Second"), rows[:6]))
    assert "--sheet”: one of the 2 in the file: Log, Second" in refused(run_bytes(two))
    assert record(run_bytes(two, "--sheet", "Second"))["delivered_ah"] == pytest.approx(36)
    assert "--sheet”: “Third”" in refused(run_bytes(two, "--sheet", "Third"))


def test_one_of_several_discharges_is_named_by_its_number(run_bytes):
    parts = [(-9, 13.2, 12.2)] * 6 + [(12, 13, 14)] * 6 + [(-8, 13.1, 12.1)] * 6
    rows = [f"{h},{a},{v + (w - v) * (h % 6) / 6:.2f}" for h, (a, v, w) in enumerate(parts)]
    data = "\n".join(["time (h),A,V", *rows]).encode()
    assert "--discharge”: the number of one of the 2" in refused(run_bytes(data))
    assert record(run_bytes(data, "--discharge", "2"))["delivered_ah"] == pytest.approx(40)
    assert run_bytes(data, "--discharge", "0").exit_code == 2
    assert run_bytes(data, "--discharge", "both").exit_code == 2
    every = json.loads(run_bytes(data, "--discharge", "all").stdout)
    assert [one["delivered_ah"] for one in every] == [
        record(run_bytes(data, "--discharge", number))["delivered_ah"] for number in ("1", "2")
    ]
