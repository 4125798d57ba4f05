"""Tables of past tests as owners keep them, and what a reasonable person expects of each.

The battery is rated 100 Ah, and today is 1 June 2026. Where nothing else is said a table holds
three tests: 99.1, 96.4 and 92.0 Ah on 14 March 2022, 31 March 2023 and 20 April 2024.
"""

from dataclasses import dataclass, field

from app.domain.entities.discharge import ChargeCondition
from app.domain.past_tests.answers import word_field
from app.domain.past_tests.columns import PastColumn

DAYS = ("2022-03-14", "2023-03-31", "2024-04-20")
AMP_HOURS = (99.1, 96.4, 92.0)


@dataclass(frozen=True)
class Holds:
    """The tests of a table: days and amp-hours row by row, and whatever else is given of them.

    left_out are the lines that hold no test; said are words of the sentences beside the preview;
    open_ is what has to be answered once for all rows, by its name; answers are what the owner
    chose.
    """

    days: tuple[str, ...] = DAYS
    amp_hours: tuple[float | None, ...] = AMP_HOURS
    more: dict[str, tuple] = field(default_factory=dict)
    left_out: tuple[int, ...] = ()
    said: tuple[str, ...] = ()
    open_: tuple[str, ...] | None = None
    answers: dict = field(default_factory=dict)


@dataclass(frozen=True)
class Refuses:
    """What cannot be taken: the words in which it is said, with its row, and what to do."""

    words: tuple[str, ...]
    answers: dict = field(default_factory=dict)


@dataclass(frozen=True)
class Asks:
    """A question with its answers by their values, and what each answer gives."""

    name: str
    choices: tuple[str, ...]
    words: tuple[str, ...] = ()
    answers: dict = field(default_factory=dict)


def rows(*lines):
    return "\n".join(lines) + "\n"


def table(heading, *body):
    return rows(heading, *(body or BODY))


BODY = ("2022-03-14,99.1", "2023-03-31,96.4", "2024-04-20,92.0")


def under(heading, mark=";", dates=("14.03.2022", "31.03.2023", "20.04.2024")):
    """Days and amp-hours with decimal commas, as most of Europe keeps them."""
    body = (f"{day}{mark}{ah}" for day, ah in zip(dates, ("99,1", "96,4", "92,0"), strict=True))
    return rows(heading, *body)


def dated(*days, heading="date,Ah"):
    return rows(heading, *(f"{d},{a}" for d, a in zip(days, AMP_HOURS, strict=True)))


def amounts(*cells, heading="date\tAh"):
    return rows(heading, *(f"{d}\t{a}" for d, a in zip(DAYS, cells, strict=True)))


def with_column(heading, *cells):
    body = zip(DAYS, AMP_HOURS, cells, strict=True)
    return rows(f"date\tAh\t{heading}", *(f"{d}\t{a}\t{c}" for d, a, c in body))


LANGUAGES = {
    "English": table("Date,Capacity (Ah)"),
    "German": under("Datum;Kapazität (Ah)"),
    "German, taken out": under("Tag;entnommene Ah"),
    "French": under("Date du test;Capacité (Ah)"),
    "Spanish": under("Fecha;Capacidad (Ah)"),
    "Italian": under("Data;Capacità (Ah)"),
    "Dutch": under("Datum;Capaciteit (Ah)"),
    "Portuguese": under("Data;Capacidade (Ah)"),
    "Polish": under("Dzień;Pojemność (Ah)"),
    "Swedish": under("Datum;Kapacitet (Ah)"),
    "without accents": under("Data;capacita Ah"),
    "spelled out": table("test date,amp-hours delivered"),
    "measured capacity": table("When,Measured capacity Ah"),
}

DATES = {
    "slashes, one above twelve": (dated("14/3/2022", "31/3/2023", "20/4/2024"), Holds()),
    "month first, one above twelve": (
        dated("3/14/2022", "3/31/2023", "4/20/2024"),
        Holds(said=("month first",)),
    ),
    "month first by one row of three": (
        dated("3/4/2022", "3/31/2023", "4/5/2024"),
        Holds(("2022-03-04", "2023-03-31", "2024-04-05"), said=("month first", "line 3")),
    ),
    "no row decides": (
        dated("3/4/2022", "5/6/2023", "7/8/2024"),
        Asks("day_order", ("day_first", "month_first"), ("3/4/2022",)),
    ),
    "no row decides and the owner does": (
        dated("3/4/2022", "5/6/2023", "7/8/2024"),
        Holds(
            ("2022-03-04", "2023-05-06", "2024-07-08"),
            said=("month first",),
            answers={"day_order": "month_first"},
        ),
    ),
    "day and month alike in every row": (
        dated("3/3/2022", "5/5/2023", "7/7/2024"),
        Holds(("2022-03-03", "2023-05-05", "2024-07-07")),
    ),
    "both orders in one column": (
        dated("14/3/2022", "3/31/2023", "20/4/2024"),
        Refuses(("line 3", "3/31/2023", "14/3/2022")),
    ),
    "points are day first": (
        dated("3.4.2022", "5.6.2023", "7.8.2024"),
        Holds(("2022-04-03", "2023-06-05", "2024-08-07")),
    ),
    "two digits of the year": (
        dated("14.3.22", "31.3.23", "20.4.24"),
        Holds(said=("2022",)),
    ),
    "two digits of a year of the last century": (
        dated("14.3.88", "31.3.23", "20.4.24"),
        Refuses(("line 2", "14.3.88", "four digits")),
    ),
    "in words": (dated("14 March 2022", "March 31 2023", "20 Apr 2024"), Holds()),
    "in German words": (
        under("Datum;Ah", dates=("14. März 2022", "31. Mrz 2023", "20. April 2024")),
        Holds(),
    ),
    "with a weekday": (
        rows("date\tAh", "Mon, 14 Mar 2022\t99.1", "Fri 31 Mar 2023\t96.4", "Sat 20.4.2024\t92.0"),
        Holds(),
    ),
    "year first with slashes": (dated("2022/3/14", "2023/3/31", "2024/4/20"), Holds()),
    "without marks": (dated("20220314", "20230331", "20240420"), Holds()),
    "a spreadsheet's numbers of days": (dated("44634", "45016", "45402"), Holds(said=("44634",))),
    "with a time of day": (
        dated("2022-03-14 18:30", "2023-03-31T09:00", "2024-04-20 7:15 pm"),
        Holds(more={"clock": ("18:30", "09:00", "19:15")}),
    ),
    "newest first": (
        table("date,Ah", *BODY[::-1]),
        Holds(DAYS[::-1], AMP_HOURS[::-1]),
    ),
    "years as headings": (
        rows("date\tAh", "2022", "14.3.\t99.1", "2023", "31.3.\t96.4", "2024", "20 April\t92.0"),
        Holds(said=("2022",)),
    ),
    "years as headings, with a word": (
        rows("date;Ah", "Year 2022;", "14.3.;99,1", "Year 2023;", "31.3.;96,4"),
        Holds(DAYS[:2], AMP_HOURS[:2]),
    ),
    "no year at all": (
        rows("date\tAh", "14.3.\t99.1", "31.3.2023\t96.4"),
        Refuses(("line 2", "14.3.", "year")),
    ),
    "a month only": (
        dated("March 2022", "2023-03-31", "2024-04-20"),
        Asks("months", ("middle",), ("line 2", "March 2022", "day")),
    ),
    "months, and the middle may stand for them": (
        dated("March 2022", "04/2023", "2024-04"),
        Holds(
            ("2022-03-15", "2023-04-15", "2024-04-15"),
            said=("15th",),
            answers={"months": "middle"},
        ),
    ),
    "a month and two digits of its year": (
        dated("Aug 23", "Mai '24", "20.4.2025"),
        Asks("months", ("middle",), ("line 2", "Aug 23 = August 2023", "names no day")),
    ),
    "a month and two digits of its year, and the middle taken": (
        dated("Aug 23", "Mai '24", "20.4.2025"),
        Holds(
            ("2023-08-15", "2024-05-15", "2025-04-20"),
            said=("“Aug 23” is 15 August 2023.",),
            answers={"months": "middle"},
        ),
    ),
    "a month and the day below a year": (
        rows("Date;Ah", "2023;", "Aug 23;99.1", "2024;", "Aug 24;96.4"),
        Holds(("2023-08-23", "2024-08-24"), AMP_HOURS[:2]),
    ),
    "a month and two digits of a year to come": (
        dated("Aug 31", "31.3.2023", "20.4.2024"),
        Refuses(("line 2", "Aug 31", "four digits"), {"months": "middle"}),
    ),
    "a year only": (
        dated("2022", "2023-03-31", "2024-04-20"),
        Refuses(("line 2", "2022", "a day")),
    ),
    "a month only, and a day that is none beside it": (
        dated("March 2022", "2023-02-30", "2024-04-20"),
        Refuses(("line 3", "2023-02-30")),
    ),
    "a season": (
        dated("spring 2022", "2023-03-31", "2024-04-20"),
        Refuses(("line 2", "spring 2022", "a day")),
    ),
    "a day that is none": (
        dated("2022-02-30", "2023-03-31", "2024-04-20"),
        Refuses(("line 2", "2022-02-30")),
    ),
    "a day to come": (
        dated("2022-03-14", "2023-03-31", "2027-04-20"),
        Refuses(("line 4", "2027-04-20", "1 Jun 2026")),
    ),
    "before any such battery": (
        dated("1969-03-14", "2023-03-31", "2024-04-20"),
        Refuses(("line 2", "1969-03-14", "1970")),
    ),
    "two tests on one day": (
        dated("2022-03-14", "2022-03-14", "2024-04-20"),
        Holds(("2022-03-14", "2022-03-14", "2024-04-20"), said=("2022-03-14", "both")),
    ),
    "the same row twice": (
        table("date,Ah", *BODY, BODY[1]),
        Asks("twice", ("keep", "once"), ("lines 3 and 5", "96.4")),
    ),
    "the same row twice, and it is one test": (
        table("date,Ah", *BODY, BODY[1]),
        Holds(left_out=(5,), answers={"twice": "once"}),
    ),
    "the same row twice, and they are two tests": (
        table("date,Ah", *BODY, BODY[1]),
        Holds((*DAYS, DAYS[1]), (*AMP_HOURS, 96.4), answers={"twice": "keep"}),
    ),
}

AMOUNTS = {
    "decimal commas": (amounts("99,1", "96,4", "92,0"), Holds()),
    "with the unit": (amounts("99.1 Ah", "96.4Ah", "92 Ah", heading="date\tcapacity"), Holds()),
    "milliamp-hours": (amounts("99100", "96400", "92000", heading="date\tmAh"), Holds()),
    "milliamp-hours in thousands": (
        amounts("99,100", "96,400", "92,000", heading="date\tcapacity (mAh)"),
        Holds(said=("mAh",)),
    ),
    "one cell in milliamp-hours": (amounts("99.1", "96400 mAh", "92.0"), Holds()),
    "milliamp-hours that no heading names": (
        amounts("99100", "96400", "92000", heading="date\tcapacity"),
        Holds(said=("capacity", "mAh")),
    ),
    "watt-hours with their voltage": (
        rows(
            "date,Wh,mean voltage (V)",
            "2022-03-14,1268.5,12.8",
            "2023-03-31,1234,12.8",
            "2024-04-20,1168.4,12.7",
        ),
        Holds(
            amp_hours=(None,) * 3,
            more={"counted_wh": (1268.5, 1234, 1168.4), "mean_voltage_v": (12.8, 12.8, 12.7)},
        ),
    ),
    "kilowatt-hours, and the voltage is asked once": (
        amounts("1.2685", "1.234", "1.1684", heading="date\tkWh"),
        Asks("mean_voltage_v", ()),
    ),
    "watt-hours with the answer": (
        amounts("1268.5", "1234", "1168.4", heading="date\tenergy"),
        Holds(
            amp_hours=(None,) * 3,
            more={"counted_wh": (1268.5, 1234, 1168.4), "mean_voltage_v": (12.8,) * 3},
            said=("12.8 V",),
            answers={"mean_voltage_v": 12.8},
        ),
    ),
    "percent of the rated capacity": (
        amounts("99.1", "96.4 %", "92", heading="date\t% of rated"),
        Holds(said=("100 Ah",)),
    ),
    "health": (amounts("99.1%", "96.4%", "92%", heading="date\tSoH"), Holds(said=("100 Ah",))),
    "shares of the rated capacity": (
        amounts("0.991", "0.964", "0.92", heading="date\t% of rated"),
        Holds(said=("fractions of 1",)),
    ),
    "shares and percent mixed": (
        amounts("0.991", "96.4", "92", heading="date\t% of rated"),
        Refuses(("line 2", "0.991", "96.4")),
    ),
    "amp-hours and percent side by side": (
        rows(
            "date,Ah,% of rated",
            "2022-03-14,99.1,99",
            "2023-03-31,96.4,96",
            "2024-04-20,92.0,92",
        ),
        Holds(said=("% of rated",)),
    ),
    "rated, delivered and percent": (
        rows(
            "date,rated Ah,delivered Ah,%",
            "2022-03-14,100,99.1,99",
            "2023-03-31,100,96.4,96",
            "2024-04-20,100,92.0,92",
        ),
        Holds(said=("rated Ah",)),
    ),
    "put in and taken out": (
        rows(
            "date,Ah charged,Ah discharged",
            "2022-03-14,104.2,99.1",
            "2023-03-31,101.3,96.4",
            "2024-04-20,97.7,92.0",
        ),
        Holds(),
    ),
    "two columns of amp-hours": (
        rows(
            "date,shunt Ah,app Ah",
            "2022-03-14,99.1,98",
            "2023-03-31,96.4,97",
            "2024-04-20,92.0,93",
        ),
        Asks("use", ("1:capacity_ah", "2:capacity_ah"), ("shunt Ah", "app Ah")),
    ),
    "a charge in words": (
        with_column("charge", "full", "full, rested", "100 %"),
        Holds(more={"charge_condition": ("full", "full_rested", "full")}),
    ),
    "a charge in words that nobody knows": (
        with_column("charge", "full", "rested", "full"),
        Asks(word_field(PastColumn.CHARGE, "rested"), tuple(ChargeCondition), ("rested",)),
    ),
    "a capacity in words": (with_column("capacity", "good", "good", "fair"), Holds()),
    "a charge in words and no amount": (
        rows("date,charge", "2022-03-14,full", "2023-03-31,rested"),
        Refuses(("a column with the amp-hours", "charge")),
    ),
    "a charge in amp-hours": (rows("date,charge", *BODY), Holds()),
    "a charge in amp-hours with remarks": (
        rows("date,charge", "2022-03-14,99.1", "2023-03-31,96.4 (full)"),
        Refuses(("line 3", "96.4 (full)", "one number")),
    ),
    "two columns of amp-hours and the owner's choice": (
        rows(
            "date,shunt Ah,app Ah",
            "2022-03-14,99.1,98",
            "2023-03-31,96.4,97",
            "2024-04-20,92.0,93",
        ),
        Holds(answers={"uses": ("day", "capacity_ah", "ignore")}),
    ),
    "about": (
        amounts("ca. 99.1", "~96.4", "about 92.0 Ah"),
        Holds(said=("“ca. 99.1”", "“~96.4”", "“about 92.0 Ah”")),
    ),
    "in German about": (amounts("etwa 99,1", "ca 96,4 Ah", "rund 92"), Holds()),
    "with its doubt": (
        amounts("99.1 ± 2", "96.4 +/- 2 Ah", "92.0"),
        Holds(said=("“99.1 ± 2”", "“96.4 +/- 2 Ah”")),
    ),
    "more than": (
        amounts(">99.1", "≥ 96.4", "92.0+"),
        Holds(more={"at_least": (True, True, True)}, said=("at least",)),
    ),
    "at least in words": (
        amounts("at least 99.1", "mind. 96,4", "92"),
        Holds(more={"at_least": (True, True, False)}),
    ),
    "less than": (amounts("99.1", "<96.4", "92.0"), Refuses(("line 3", "<96.4"))),
    "a range": (amounts("99.1", "95-98", "92.0"), Refuses(("line 3", "95-98", "one number"))),
    "nothing": (amounts("99.1", "0", "92.0"), Refuses(("line 3", "“0”", "above 0"))),
    "below nothing": (
        amounts("99.1", "-96.4", "92.0"),
        Refuses(("line 3", "-96.4", "above 0")),
    ),
    "below nothing in every row, as a counter shows": (
        amounts("-99.1", "-96.4", "-92.0"),
        Holds(said=("minus",)),
    ),
    "words": (amounts("99.1", "forgot", "92.0"), Refuses(("line 3", "forgot"))),
    "no value": (
        amounts("99.1", "n/a", "92.0"),
        Holds((DAYS[0], DAYS[2]), (99.1, 92.0), left_out=(3,)),
    ),
    "a volt among the amp-hours": (
        amounts("99.1", "12.4 V", "92.0"),
        Refuses(("line 3", "12.4 V")),
    ),
    "a point beside decimal commas": (
        amounts("99,1", "1.234", "92,0"),
        Asks("points", ("thousands", "decimals"), ("line 3", "1.234", "1234")),
    ),
    "thousands or thousandths": (
        amounts("1,200", "1,150", "1,100"),
        Refuses(("line 2", "1,200", "1200", "1.200")),
    ),
}

COLUMNS = {
    "air temperature": (
        with_column("Temp °C", "21", "18,5", "-3"),
        Holds(more={"ambient_c": (21, 18.5, -3)}, said=("air",)),
    ),
    "degrees Fahrenheit": (
        with_column("Temp (°F)", "70", "68", "n/a"),
        Holds(more={"ambient_c": (21.1, 20, None)}),
    ),
    "Fahrenheit by the size of the numbers": (
        with_column("temperature", "70", "68", "75"),
        Holds(more={"ambient_c": (21.1, 20, 23.9)}, said=("°F",)),
    ),
    "the battery's own temperature": (
        with_column("battery temp °C", "21", "20", "19"),
        Holds(more={"ambient_c": (None, None, None)}, said=("battery temp °C",)),
    ),
    "a load in amps": (
        with_column("load (A)", "10", "9.8", "10 A"),
        Holds(more={"mean_current_a": (10, 9.8, 10)}),
    ),
    "a load in watts": (
        with_column("load", "120 W", "115 W", "kettle"),
        Holds(more={"load": ("120 W", "115 W", "kettle")}),
    ),
    "hours": (
        with_column("Dauer", "9:54", "9h38", "9,2 h"),
        Holds(more={"duration_h": (9.9, 9.633, 9.2)}),
    ),
    "minutes": (
        with_column("duration (min)", "594", "578", "552"),
        Holds(more={"duration_h": (9.9, 9.633, 9.2)}),
    ),
    "last voltage": (
        with_column("end voltage", "10.0 V", "10,1", "10"),
        Holds(more={"last_voltage_v": (10.0, 10.1, 10.0)}),
    ),
    "how it was charged": (
        with_column("charged", "full", "full, rested 12 h", "not full"),
        Holds(more={"charge_condition": ("full", "full_rested", "not_full")}),
    ),
    "charged in German": (
        with_column("geladen", "voll", "voll und geruht", "nicht voll"),
        Holds(more={"charge_condition": ("full", "full_rested", "not_full")}),
    ),
    "charged to a percentage": (
        with_column("charged to", "100 %", "100%", "80 %"),
        Holds(more={"charge_condition": ("full", "full", "not_full")}),
    ),
    "how it ended": (
        with_column("ended by", "BMS", "cut-off voltage", "ran out of time"),
        Holds(more={"end_reason": ("protection", "cut_off_voltage", "time")}),
    ),
    "how it ended, in German": (
        with_column("Ende", "BMS hat abgeschaltet", "Entladeschlussspannung", "?"),
        Holds(more={"end_reason": ("protection", "cut_off_voltage", "unknown")}),
    ),
    "an end in words of the owner": (
        with_column("end", "beeper", "BMS", "beeper"),
        Asks(
            word_field(PastColumn.END, "beeper"),
            ("protection", "cut_off_voltage", "gauge_reserve", "time", "load", "unknown"),
            ("beeper",),
        ),
    ),
    "an end in words of the owner, told once": (
        with_column("end", "beeper", "BMS", "beeper"),
        Holds(
            more={"end_reason": ("load", "protection", "load")},
            answers={"words": {word_field(PastColumn.END, "Beeper"): "load"}},
        ),
    ),
    "measured and at least": (
        with_column("kind", "measured", "at least", "measured"),
        Holds(more={"at_least": (False, True, False)}, open_=("charge", "end", "meter")),
    ),
    "a test that the owner throws out": (
        with_column("kind", "ok", "ok", "invalid"),
        Holds(more={"left_out_reason": ("", "", "invalid")}),
    ),
    "meter and notes": (
        rows(
            "date;Ah;meter;remarks",
            "14.3.2022;99,1;shunt;new",
            "31.3.2023;96,4;clamp;",
            "20.4.2024;92,0;shunt;windy",
        ),
        Holds(
            more={"meter": ("shunt", "clamp", "shunt"), "notes": ("new", "", "windy")},
            open_=("charge", "end"),
        ),
    ),
    "rows do not say how: it is asked once": (
        table("date,Ah"),
        Holds(open_=("charge", "end", "meter")),
    ),
}

SHAPES = {
    "words above, totals below": (
        rows(
            "My house battery",
            "",
            "date;Ah",
            "14.3.2022;99,1",
            "31.3.2023;96,4",
            "20.4.2024;92,0",
            "",
            "Mean;95,8",
        ),
        Holds(left_out=(8,)),
    ),
    "a sum without a word": (
        rows("date;Ah", "14.3.2022;99,1", "31.3.2023;96,4", "20.4.2024;92,0", ";287,5"),
        Holds(left_out=(5,)),
    ),
    "an amount without a day": (
        rows("date;Ah", "14.3.2022;99,1", ";96,4", "20.4.2024;92,0"),
        Refuses(("line 3", "96,4", "a day")),
    ),
    "a day without an amount": (
        rows("date;Ah", "14.3.2022;99,1", "1.4.2022;", "31.3.2023;96,4", "20.4.2024;92,0"),
        Holds(left_out=(3,)),
    ),
    "units in a line of their own": (
        rows("date\tcapacity\ttemp", "\t[mAh]\t[°C]", "14.3.2022\t99100\t21", "31.3.2023\t96400\t"),
        Holds(DAYS[:2], AMP_HOURS[:2], more={"ambient_c": (21, None)}),
    ),
    "headings once more": (
        rows("date,Ah", *BODY[:2], "date,Ah", BODY[2]),
        Holds(left_out=(4,)),
    ),
    "the first row is the odd one": (
        rows("date\tAh\ttemp", "14 March 2022\tca. 99.1\tcold", *("2023-03-31\t96.4\t21",) * 1),
        Refuses(("line 2", "cold")),
    ),
    "numbered": (
        rows("No.,date,Ah", "1,2022-03-14,99.1", "2,2023-03-31,96.4", "3,2024-04-20,92.0"),
        Holds(),
    ),
    "a column of no use": (
        rows("date,Ah,mood", "2022-03-14,99.1,good", "2023-03-31,96.4,", "2024-04-20,92,bad"),
        Holds(said=("mood",)),
    ),
    "without headings": (rows(*BODY), Holds(said=("No headings",))),
    "without headings, units in the cells": (
        rows("14.3.2022\t21 °C\t99,1 Ah", "31.3.2023\t20 °C\t96,4 Ah", "20.4.2024\t\t92 Ah"),
        Holds(more={"ambient_c": (21, 20, None)}),
    ),
    "without headings, two columns of numbers": (
        rows("14.3.2022\t99,1\t98", "31.3.2023\t96,4\t97", "20.4.2024\t92\t93"),
        Asks("use", ("1:capacity_ah", "2:capacity_ah"), ()),
    ),
    "one test alone": (rows("date,Ah", BODY[0]), Holds(DAYS[:1], AMP_HOURS[:1])),
    "bars between the cells": (
        rows("date | Ah", "2022-03-14 | 99.1", "2023-03-31 | 96.4", "2024-04-20 | 92.0"),
        Holds(),
    ),
    "two batteries": (
        rows(
            "battery,date,Ah",
            "left,2022-03-14,99.1",
            "right,2022-03-15,88.1",
            "left,2023-03-31,96.4",
            "right,2023-04-01,86.4",
        ),
        Asks("battery", ("left", "right")),
    ),
    "two batteries, one of them chosen": (
        rows(
            "battery,date,Ah",
            "left,2022-03-14,99.1",
            "right,2022-03-15,88.1",
            "left,2023-03-31,96.4",
            "right,2023-04-01,86.4",
        ),
        Holds(
            DAYS[:2],
            AMP_HOURS[:2],
            said=("Only rows of “left”", "2 rows of other batteries (right)"),
            answers={"battery": "left"},
        ),
    ),
    "a comma in an unquoted note": (
        rows("date,Ah,notes", "2022-03-14,99.1,cold, windy", "2023-03-31,96.4,"),
        Holds(DAYS[:2], AMP_HOURS[:2], more={"notes": ("cold, windy", "")}),
    ),
    "cannot be turned into amp-hours": (
        rows("date,temp", "2022-03-14,21", "2023-03-31,20"),
        Refuses(("amp-hours", "temp")),
    ),
    "no day": (rows("test,Ah", "1,99.1", "2,96.4"), Refuses(("a day", "test"))),
    "a log of readings": (
        rows(
            "time,A,V",
            *(f"2024-04-20 {8 + i:02d}:00,10,{13.2 - i / 10:.1f}" for i in range(9)),
        ),
        Refuses(("readings of one test", "Enter a capacity test")),
    ),
    "a log with a counter": (
        rows(
            "date,time,Ah",
            *(f"20.04.2024,{8 + i:02d}:00,{10 * i}" for i in range(9)),
        ),
        Refuses(("readings of one test",)),
    ),
    "headings alone": (rows("date,Ah,temp"), Refuses(("row",))),
    "no table": ("Dear diary\nit was cold\n", Refuses(("each test a row",))),
    "nothing": ("", Refuses(("an empty file",))),
}

TABLES: dict[str, tuple[str, Holds | Refuses | Asks]] = {
    **{f"heading: {name}": (text, Holds()) for name, text in LANGUAGES.items()},
    **{f"date: {name}": one for name, one in DATES.items()},
    **{f"amount: {name}": one for name, one in AMOUNTS.items()},
    **{f"column: {name}": one for name, one in COLUMNS.items()},
    **{f"shape: {name}": one for name, one in SHAPES.items()},
}
