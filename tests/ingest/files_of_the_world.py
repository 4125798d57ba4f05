"""Files as people really have them, and what a reasonable person expects of each.

Every file is one test of three readings, an hour apart: 9.0, 9.1 and 9.0 A at 13.2, 13.0 and
12.0 V. Where a file differs, what is expected says how.
"""

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Reads:
    """The readings a file holds; said are words of the sentences beside them."""

    seconds: tuple[float, ...] = (0, 3600, 7200)
    amps: tuple[float, ...] = (9.0, 9.1, 9.0)
    volts: tuple[float | None, ...] | None = (13.2, 13.0, 12.0)
    celsius: tuple[float | None, ...] | None = None
    percent: tuple[float | None, ...] | None = None
    begins: str = ""
    said: tuple[str, ...] = field(default=())


@dataclass(frozen=True)
class Refuses:
    """A question or a refusal: what is there, what is needed and what to do, in these words."""

    words: tuple[str, ...]


def rows(*lines, sep="\n"):
    return sep.join(lines) + sep


def table(heading, mark=","):
    """Hours, amps and volts under a heading."""
    body = ("0,9.0,13.2", "1,9.1,13.0", "2,9.0,12.0")
    if mark == ";":
        body = tuple(line.replace(",", ";").replace(".", ",") for line in body)
    return rows(heading, *body)


def stamped(*stamps, heading="time,A,V"):
    values = ("9.0,13.2", "9.1,13.0", "9.0,12.0")
    return rows(heading, *(f"{s},{v}" for s, v in zip(stamps, values, strict=True)))


def quick(count=12, begin="2026-03-31 08:{:02d}:00", spoilt=None):
    """A reading a minute; spoilt takes the place of a line by its number in the file."""
    lines = ["time,A,V"]
    for i in range(count):
        lines.append(f"{begin.format(i)},9.0,{13.2 - i / 100:.2f}")
    for number, line in (spoilt or {}).items():
        lines[number - 1] = line
    return rows(*lines)


def minutes(count, left_out=(), step=60):
    seconds = [step * i for i in range(count) if i not in left_out]
    return tuple(seconds), tuple(9.0 for _ in seconds)


def _quick_reads(count=12, left_out=(), said=(), begins=""):
    seconds, amps = minutes(count, left_out)
    first = seconds[0]
    return Reads(
        tuple(s - first for s in seconds),
        amps,
        tuple(round(13.2 - i / 100, 2) for i in range(count) if i not in left_out),
        begins=begins,
        said=said,
    )


HEADINGS = {
    "French": table("Durée (h),Courant (A),Tension (V)"),
    "French, decimal comma": table("Heures;Intensité (A);Tension (V)", ";"),
    "French without accents": table("duree (h),intensite A,tension V"),
    "Spanish": table("Tiempo (h);Corriente (A);Tensión (V)", ";"),
    "Spanish, voltaje": table("horas,corriente [A],voltaje [V]"),
    "Italian": table("Tempo (h);Corrente (A);Tensione (V)", ";"),
    "Italian, ore": table("ore,corrente,tensione"),
    "Dutch": table("Tijd (h);Stroom (A);Spanning (V)", ";"),
    "Dutch, uren": table("uren,stroom,spanning"),
    "Portuguese": table("Tempo (h);Corrente (A);Tensão (V)", ";"),
    "Polish": table("Czas (h);Prąd (A);Napięcie (V)", ";"),
    "Polish without accents": table("czas h,prad A,napiecie V"),
    "Polish, godziny": table("godziny;natężenie;napięcie", ";"),
    "Swedish": table("Tid (h);Ström (A);Spänning (V)", ";"),
    "Swedish without accents": table("timmar,strom,spanning"),
    "German": table("Stunden;Strom;Spannung", ";"),
    "joined words": table("ElapsedHours,FastAmps,PackVolts"),
    "camel case": table("elapsedHours,batteryCurrent,batteryVoltage"),
    "shouted and joined": table("TIME_H,BATT_CURRENT,BATT_VOLTAGE"),
    "dots": table("Time.h,Batt.Curr,Batt.Volt"),
    "letters with an index": table("t_h,I_batt,U_batt"),
    "letters joined": table("hours,Ibat,Vbat"),
    "letters": table("h,I,U"),
    "unit in front": table("[h] Time,[A] Current,[V] Voltage"),
    "unit with a quantity behind": table("h (time),A (current),V (voltage)"),
    "unit behind a stroke": table("time/h,current/A,voltage/V"),
    "unit behind a line": table("Time_h,Amp_A,Volt_V"),
    "unit behind a colon": table("time: h,current: A,voltage: V"),
    "unit after in": table("time in h,current in A,voltage in V"),
    "decomposed accents": table("Dure\u0301e (h),Courant (A),Tension (V)"),
}

FILES: dict[str, tuple[str, Reads | Refuses]] = {
    **{name: (text, Reads()) for name, text in HEADINGS.items()},
    "milliamps in front": (
        rows("hours,mA current,mV voltage", "0,9000,13200", "1,9100,13000", "2,9000,12000"),
        Reads(),
    ),
    "temperature and charge, French": (
        rows(
            "durée (h);courant (A);tension (V);température (°C);état de charge (%)",
            "0;9,0;13,2;21;100",
            "1;9,1;13,0;22;60",
            "2;9,0;12,0;22;10",
        ),
        Reads(celsius=(21, 22, 22), percent=(100, 60, 10)),
    ),
    "temperature and charge, Spanish": (
        rows(
            "horas;corriente;tensión;temperatura;estado de carga",
            "0;9,0;13,2;21;100",
            "1;9,1;13,0;22;60",
            "2;9,0;12,0;22;10",
        ),
        Reads(celsius=(21, 22, 22), percent=(100, 60, 10)),
    ),
    "temperature and charge, Dutch": (
        rows(
            "uren;stroom;spanning;temperatuur;laadtoestand",
            "0;9,0;13,2;21;100",
            "1;9,1;13,0;22;60",
            "2;9,0;12,0;22;10",
        ),
        Reads(celsius=(21, 22, 22), percent=(100, 60, 10)),
    ),
    "temperature and charge, Polish": (
        rows(
            "godziny;prąd;napięcie;temperatura;stan naładowania",
            "0;9,0;13,2;21;100",
            "1;9,1;13,0;22;60",
            "2;9,0;12,0;22;10",
        ),
        Reads(celsius=(21, 22, 22), percent=(100, 60, 10)),
    ),
    "temperature and charge, Swedish": (
        rows(
            "timmar;ström;spänning;temp;laddningsnivå",
            "0;9,0;13,2;21;100",
            "1;9,1;13,0;22;60",
            "2;9,0;12,0;22;10",
        ),
        Reads(celsius=(21, 22, 22), percent=(100, 60, 10)),
    ),
    "temperature and charge, Italian": (
        rows(
            "ore,corrente,tensione,temperatura,stato di carica",
            "0,9.0,13.2,21,100",
            "1,9.1,13.0,22,60",
            "2,9.0,12.0,22,10",
        ),
        Reads(celsius=(21, 22, 22), percent=(100, 60, 10)),
    ),
    "a charge current in French is not the discharge": (
        rows(
            "heures,courant de charge (A),courant de décharge (A)",
            "0,0,9.0",
            "1,0,9.1",
            "2,0,9.0",
        ),
        Reads(volts=None),
    ),
    "a charge current in Spanish is not the discharge": (
        rows("horas,corriente de carga (A),corriente de descarga (A)", "0,0,9", "1,0,9.1", "2,0,9"),
        Reads(volts=None),
    ),
    "the only column of times": (
        stamped("08:00", "09:00", "10:00", heading="Sample,Amps,Volts"),
        Reads(),
    ),
    "the only column of dates and times": (
        stamped("2026-03-31 08:00", "2026-03-31 09:00", "2026-03-31 10:00", heading="X,Amps,Volts"),
        Reads(begins="2026-03-31T08:00:00"),
    ),
    "a number of each row before the times": (
        rows("No,When,A,V", "1,08:00,9.0,13.2", "2,09:00,9.1,13.0", "3,10:00,9.0,12.0"),
        Reads(),
    ),
    "year first without zeros": (
        stamped("2026/3/31 8:00", "2026/3/31 9:00", "2026/3/31 10:00"),
        Reads(begins="2026-03-31T08:00:00"),
    ),
    "month in letters": (
        stamped("31-Mar-2026 08:00:00", "31-Mar-2026 09:00:00", "31-Mar-2026 10:00:00"),
        Reads(begins="2026-03-31T08:00:00"),
    ),
    "month in letters first": (
        stamped('"Mar 31, 2026 08:00"', '"Mar 31, 2026 09:00"', '"Mar 31, 2026 10:00"'),
        Reads(begins="2026-03-31T08:00:00"),
    ),
    "German month": (
        rows(
            "Zeit;Strom;Spannung",
            "31. März 2026 08:00;9,0;13,2",
            "31. März 2026 09:00;9,1;13,0",
            "31. März 2026 10:00;9,0;12,0",
        ),
        Reads(begins="2026-03-31T08:00:00"),
    ),
    "French month": (
        stamped("31 août 2026 08:00", "31 août 2026 09:00", "31 août 2026 10:00"),
        Reads(begins="2026-08-31T08:00:00"),
    ),
    "date in letters in a column of its own": (
        rows(
            "Date,Time,A,V",
            "31-Mar-26,08:00,9.0,13.2",
            "31-Mar-26,09:00,9.1,13.0",
            "31-Mar-26,10:00,9.0,12.0",
        ),
        Reads(begins="2026-03-31T08:00:00"),
    ),
    "without marks": (
        stamped("20260331T0800", "20260331T0900", "20260331T1000"),
        Reads(begins="2026-03-31T08:00:00"),
    ),
    "without marks to the second": (
        stamped("20260331T080000", "20260331T090000", "20260331T100000"),
        Reads(begins="2026-03-31T08:00:00"),
    ),
    "thousandths and Z": (
        stamped("2026-03-31T08:00:00.123Z", "2026-03-31T09:00:00.123Z", "2026-03-31T10:00:00.123Z"),
        Reads(begins="2026-03-31T08:00:00.123000+00:00"),
    ),
    "seven digits of a second": (
        stamped(*(f"2026-03-31T{h:02d}:00:00.1234567+02:00" for h in (8, 9, 10))),
        Reads(begins="2026-03-31T08:00:00.123456+02:00"),
    ),
    "decimal comma in the seconds": (
        rows(
            "Zeit;Strom;Spannung",
            "2026-03-31 08:00:00,500;9,0;13,2",
            "2026-03-31 09:00:00,500;9,1;13,0",
            "2026-03-31 10:00:00,500;9,0;12,0",
        ),
        Reads(begins="2026-03-31T08:00:00.500000"),
    ),
    "twelve hours": (
        stamped("08:00:05 AM", "09:00:05 AM", "10:00:05 AM"),
        Reads(),
    ),
    "twelve hours over noon": (
        stamped("11:00:00 AM", "12:00:00 PM", "1:00:00 PM"),
        Reads(),
    ),
    "twelve hours with points and a narrow space": (
        stamped("8:00\u202fa.m.", "9:00\u202fa.m.", "10:00\u202fa.m."),
        Reads(),
    ),
    "weekday in front": (
        stamped(*(f"Tue 2026-03-31 {h:02d}:00" for h in (8, 9, 10))),
        Reads(begins="2026-03-31T08:00:00"),
    ),
    "spans in letters": (stamped("0h05", "1h05", "2h05"), Reads()),
    "spans to a tenth of a second": (
        stamped("0:05:30.5", "1:05:30.5", "2:05:30.5"),
        Reads(),
    ),
    "spans with days": (stamped("0.23:00:00", "1.00:00:00", "1.01:00:00"), Reads()),
    "hours and minutes in French": (
        stamped("8h00", "9h00", "10h00", heading="heure,courant,tension"),
        Reads(),
    ),
    "points in a time of day": (
        stamped(*(f"2026-03-31 {h:02d}.00.00" for h in (8, 9, 10))),
        Reads(begins="2026-03-31T08:00:00"),
    ),
    "a quoted decimal comma": (
        rows(
            "Time (h),Current (A),Voltage (V)",
            '0,"9,0","13,2"',
            '1,"9,1","13,0"',
            '2,"9,0","12,0"',
        ),
        Reads(),
    ),
    "a quoted decimal comma of two digits": (
        rows("h,A,V", '"0,0","9,00","13,20"', '"1,0","9,10","13,00"', '"2,0","9,00","12,00"'),
        Reads(),
    ),
    "thousands in quotes": (
        rows("h,mA,mV", '0,"9,000","13,200"', '1,"9,100","13,000"', '2,"9,000","12,000"'),
        Refuses(("9000 or 9.000", "could mean either")),
    ),
    "spaces between thousands": (
        rows("h;mA;mV", "0;9 000;13 200", "1;9 100;13 000", "2;9 000;12 000"),
        Reads(),
    ),
    "narrow spaces between thousands": (
        rows(
            "h;mA;mV",
            *(
                f"{h};9\u202f{a}00;1{v}"
                for h, a, v in ((0, 0, "3\u202f200"), (1, 1, "3\u00a0000"), (2, 0, "2\u2009000"))
            ),
        ),
        Reads(),
    ),
    "apostrophes between thousands": (
        rows("h;mA;mV", "0;9'000;13'200", "1;9'100;13'000", "2;9’000;12’000"),
        Reads(),
    ),
    "units in the cells": (
        rows("time,current,voltage", "0 h,9.0 A,13.2 V", "1 h,9100mA,13.0V", "2 h,9.0A,12000 mV"),
        Reads(),
    ),
    "decimal commas with units in the cells": (
        rows("Zeit;Strom;Spannung", "0:00;9,0 A;13,2 V", "1:00;9,1 A;13,0 V", "2:00;9,0 A;12,0 V"),
        Reads(),
    ),
    "a plus in front": (
        rows("h,A,V", "0,+9.0,+13.2", "1,+9.1,+13.0", "2,+9.0,+12.0"),
        Reads(),
    ),
    "two rows of one second": (
        quick(spoilt={7: "2026-03-31 08:04:00,9.0,13.15"}),
        Reads(
            (0, 60, 120, 180, 240, 240.5, 360, 420, 480, 540, 600, 660),
            (9.0,) * 12,
            None,
            said=("share",),
        ),
    ),
    "two rows a second throughout": (
        rows("time,A,V", *(f"08:00:{i // 2:02d},9.{i % 3},13.{20 - i // 4}" for i in range(40))),
        Reads(
            tuple(i / 2 for i in range(40)),
            tuple(9 + (i % 3) / 10 for i in range(40)),
            None,
            said=("share",),
        ),
    ),
    "two batteries in one file without a name": (
        rows(
            "time,A,V",
            *(f"08:{i // 2:02d}:00,{(9, 2)[i % 2]}.0,13.{20 - i // 4}" for i in range(40)),
        ),
        Refuses(("time", "line 3", "channel")),
    ),
    "nan": (
        quick(spoilt={5: "2026-03-31 08:03:00,nan,nan"}),
        _quick_reads(left_out=(3,), said=("1 row", "line 5")),
    ),
    "null, None and unavailable": (
        quick(
            30,
            spoilt={
                5: "2026-03-31 08:03:00,null,13.1",
                8: "2026-03-31 08:06:00,None,13.1",
                9: "2026-03-31 08:07:00,unavailable,unavailable",
                12: "2026-03-31 08:10:00,#N/A,unknown",
            },
        ),
        _quick_reads(30, left_out=(3, 6, 7, 10), said=("4 rows", "5, 8, 9, 12")),
    ),
    "OL and dashes beside the current": (
        rows("h,A,V,temp", "0,9.0,OL,21", "1,9.1,---,—", "2,9.0,12.0,n/a"),
        Reads(volts=(None, None, 12.0), celsius=(21, None, None)),
    ),
    "overload as -OL and 0L": (
        quick(
            spoilt={
                5: "2026-03-31 08:03:00,-OL,13.1",
                6: "2026-03-31 08:04:00,0L,13.1",
                7: "2026-03-31 08:05:00,O.L,13.1",
            }
        ),
        _quick_reads(left_out=(3, 4, 5), said=("3 rows",)),
    ),
    "a state in the gauge": (
        rows("h,A,V,SoC", "0,9.0,13.2,unknown", "1,9.1,13.0,80", "2,9.0,12.0,20"),
        Reads(percent=(None, 80, 20)),
    ),
    "pack before cells": (
        rows(
            "h,A,Cell1,Cell2,Cell3,Cell4,Pack Voltage",
            "0,9.0,3.3,3.3,3.3,3.3,13.2",
            "1,9.1,3.25,3.25,3.25,3.25,13.0",
            "2,9.0,3.0,3.0,3.0,3.0,12.0",
        ),
        Reads(),
    ),
    "extremes of the cells before the pack": (
        rows(
            "h,A,min cell V,max cell V,V",
            "0,9.0,3.29,3.31,13.2",
            "1,9.1,3.2,3.3,13.0",
            "2,9.0,2.9,3.1,12.0",
        ),
        Reads(),
    ),
    "cells alone": (
        rows(
            "h,A,Cell1 (V),Cell2 (V),Cell3 (V),Cell4 (V)",
            "0,9.0,3.3,3.3,3.3,3.3",
            "1,9.1,3.25,3.25,3.25,3.25",
            "2,9.0,3.0,3.0,3.0,3.0",
        ),
        Reads(volts=None, said=("cell",)),
    ),
    "a summary before the readings": (
        rows(
            "Device,Logger 7",
            "Serial,001234",
            "Started,2026-03-31 08:00",
            "Capacity Ah,27.1",
            "",
            "Time (h),Current (A),Voltage (V)",
            "0,9.0,13.2",
            "1,9.1,13.0",
            "2,9.0,12.0",
        ),
        Reads(),
    ),
    "a summary of pairs of numbers": (
        rows(
            "Start voltage;13,2;V",
            "Duration;2;h",
            "Samples;3;5",
            "",
            "Zeit (h);Strom (A);Spannung (V)",
            "0;9,0;13,2",
            "1;9,1;13,0",
            "2;9,0;12,0",
        ),
        Reads(),
    ),
    "units in a second row": (
        rows("Time,Current,Voltage", "h,mA,mV", "0,9000,13200", "1,9100,13000", "2,9000,12000"),
        Reads(),
    ),
    "units in brackets in a second row": (
        rows("Time;Current;Voltage", "[h];[A];[V]", "0;9,0;13,2", "1;9,1;13,0", "2;9,0;12,0"),
        Reads(),
    ),
    "comment lines": (
        rows(
            "# logger 7, interval 3600 s, 12.8 V, 100 Ah",
            "# started 2026-03-31",
            "h,A,V",
            "0,9.0,13.2",
            "# door opened, 1, 2",
            "1,9.1,13.0",
            "2,9.0,12.0",
        ),
        Reads(),
    ),
    "a heading in a comment": (
        rows("# h,A,V", "0,9.0,13.2", "1,9.1,13.0", "2,9.0,12.0"),
        Reads(),
    ),
    "comments with strokes": (
        rows("// a log", "h;A;V", "0;9,0;13,2", "// note;5;6", "1;9,1;13,0", "2;9,0;12,0"),
        Reads(),
    ),
    "comments with semicolons": (
        rows("; a log", "; 12.8 V, 100 Ah", "h,A,V", "0,9.0,13.2", "1,9.1,13.0", "2,9.0,12.0"),
        Reads(),
    ),
    "a footer of words": (
        table("h,A,V") + rows("", "Total Ah,27.1,", "End of log"),
        Reads(),
    ),
    "a footer in comments": (table("h,A,V") + rows("# end, 27.1, 13.0"), Reads()),
    "a time of 1970 in one row": (
        quick(spoilt={6: "1970-01-01 00:00:00,9.0,13.16"}),
        _quick_reads(left_out=(4,), said=("1970-01-01 00:00:00", "line 6", "left out")),
    ),
    "a time of 1970 in the first row": (
        quick(spoilt={2: "1970-01-01 00:00:02,9.0,13.2"}),
        _quick_reads(left_out=(0,), said=("line 2",), begins="2026-03-31T08:01:00"),
    ),
    "a time far ahead in one row": (
        quick(spoilt={6: "2062-07-01 00:00:00,9.0,13.16"}),
        _quick_reads(left_out=(4,), said=("line 6",)),
    ),
    "zeros after a power cut": (
        table("h,A,V") + "\0" * 64 + "\n",
        Reads(said=("power",)),
    ),
    "zeros in the middle": (
        rows("h,A,V", "0,9.0,13.2", "1,9.1,13.0") + "\0" * 300 + rows("", "2,9.0,12.0"),
        Reads(said=("power",)),
    ),
    "newest first": (
        rows("time,A,V", "10:00,9.0,12.0", "09:00,9.1,13.0", "08:00,9.0,13.2"),
        Reads(said=("newest",)),
    ),
    "newest first over midnight": (
        rows("time,A,V", "00:30,9.0,12.0", "23:30,9.1,13.0", "22:30,9.0,13.2"),
        Reads(said=("newest",)),
    ),
    "newest first with dates": (
        rows(
            "Date,Time,A,V",
            "2026-04-01,00:30,9.0,12.0",
            "2026-03-31,23:30,9.1,13.0",
            "2026-03-31,22:30,9.0,13.2",
        ),
        Reads(begins="2026-03-31T22:30:00", said=("newest",)),
    ),
    "the heading once more": (
        rows("h,A,V", "0,9.0,13.2", "h,A,V", "1,9.1,13.0", "2,9.0,12.0"),
        Reads(said=("heading",)),
    ),
    "the heading once more with its units": (
        rows(
            "Time,Current,Voltage",
            "h,A,V",
            "0,9.0,13.2",
            "1,9.1,13.0",
            "Time,Current,Voltage",
            "h,A,V",
            "2,9.0,12.0",
        ),
        Reads(said=("heading",)),
    ),
    "a logger that began anew at nothing": (
        rows("h,A,V", "0,9.0,13.2", "1,9.1,13.0", "h,A,V", "0,9.1,13.0", "1,9.0,12.0"),
        Refuses(("line 5", "time", "start again")),
    ),
    "no time at all": (
        rows("A,V", "9.0,13.2", "9.1,13.0", "9.0,12.0"),
        Refuses(("one column with the time",)),
    ),
    "columns that nobody can tell": (
        rows("when,foo,bar", "08:00,1,2", "09:00,1,2", "10:00,1,3"),
        Refuses(("one column with the current", "foo")),
    ),
    "two currents of one rank": (
        rows("h,corriente 1,corriente 2", "0,9.0,1.0", "1,9.1,1.0", "2,9.0,1.0"),
        Refuses(("column of the current", "corriente 1", "corriente 2")),
    ),
    "dates that could be either": (
        stamped("3/4/2026 08:00", "3/4/2026 09:00", "3/4/2026 10:00"),
        Reads(begins="2026-04-03T08:00:00", said=("day first",)),
    ),
    "day first by the whole file": (
        stamped("31/3/2026 23:00", "1/4/2026 0:00", "1/4/2026 1:00"),
        Reads(begins="2026-03-31T23:00:00"),
    ),
    "watts alone": (
        rows("h,W", "0,118", "1,118", "2,108"),
        Refuses(("current",)),
    ),
    "date and time without headings": (
        rows("2026-03-31,08:00,9.0,13.2", "2026-03-31,09:00,9.1,13.0", "2026-03-31,10:00,9.0,12.0"),
        Reads(begins="2026-03-31T08:00:00"),
    ),
    "date and time of digits alone": (
        rows(
            "Date,Time,A,V",
            "20260331,080000,9.0,13.2",
            "20260331,090000,9.1,13.0",
            "20260331,100000,9.0,12.0",
        ),
        Reads(begins="2026-03-31T08:00:00"),
    ),
    "fourteen digits": (
        stamped("20260331080000", "20260331090000", "20260331100000"),
        Reads(begins="2026-03-31T08:00:00"),
    ),
    "a table drawn with bars": (
        rows(
            "| V | A | h |",
            "|---|---|---|",
            "| 13.2 | 9.0 | 0 |",
            "| 13.0 | 9.1 | 1 |",
            "| 12.0 | 9.0 | 2 |",
        ),
        Reads(),
    ),
    "a dash for a minus": (
        rows("h;A;V", "0;–9,0;13,2", "1;–9,1;13,0", "2;–9,0;12,0"),
        Reads(),
    ),
    "minutes and seconds alone": (
        stamped("00:00.0", "30:30.5", "59:00.0"),
        Refuses(("line 2, time", "a time such as 14:30")),
    ),
    "the depth of discharge is no gauge": (
        rows("h,A,V,DoD %", "0,9.0,13.2,0", "1,9.1,13.0,40", "2,9.0,12.0,90"),
        Reads(percent=(None, None, None)),
    ),
    "Spanish for charge or load is asked": (
        rows("hora;corriente de carga;tensión", "8:00;9,0;13,2", "9:00;9,1;13,0"),
        Refuses(("column of the current", "corriente de carga", "current in A")),
    ),
    "lines of a program": (
        rows('{"t":0,"i":9.0}', '{"t":3600,"i":9.1}'),
        Refuses(("lines with a time and a current", "CSV")),
    ),
    "rows in no order": (
        stamped("08:00", "10:00", "09:00"),
        Refuses(("line 4, time", "a time after 10:00")),
    ),
    "an Italian date beside the time": (
        rows(
            "Data;Ora;Corrente (A);Tensione (V)",
            "31/03/2026;08:00;9,0;13,2",
            "31/03/2026;09:00;9,1;13,0",
            "31/03/2026;10:00;9,0;12,0",
        ),
        Reads(begins="2026-03-31T08:00:00"),
    ),
    "the battery's temperature before another": (
        rows(
            "h,A,V,Temp MOS,Temp battery",
            "0,9.0,13.2,40,21",
            "1,9.1,13.0,41,22",
            "2,9.0,12.0,41,22",
        ),
        Reads(celsius=(21, 22, 22)),
    ),
    "a wild time of day without dates": (
        rows("time,A", "22:58,9", "22:59,9", "00:00,9", "23:01,9", "23:02,9"),
        Refuses(("line 5, time", "half a day", "add the date")),
    ),
    "a reading before the heading is not dropped": (
        rows("0,9.0,13.2", "h,A,V", "1,9.1,13.0", "2,9.0,12.0", "3,9.0,11.0"),
        Refuses(("line 2",)),
    ),
}
