//! Pressure logs as loggers write them: read right, or refused with the row and the column.
#![expect(clippy::unwrap_used, reason = "a panic is how a test fails")]

use proptest::prelude::*;
use std::fmt::Write;
use trade::bench::pressure_log::{Holds, PressureLog, read, text_of};

/// Falls from 3000 Pa by 3 Pa a second; `row` writes one row of seconds and pascals.
fn log(heading: &str, row: impl Fn(f64, f64) -> String) -> String {
    let rows: Vec<String> = (0..10).map(|i| row(f64::from(i), 3_000.0 - 3.0 * f64::from(i))).collect();
    format!("{heading}{}\n", rows.join("\n"))
}

#[track_caller]
fn falls_by_three(log: &PressureLog) {
    assert_eq!(log.readings.len(), 10);
    for (index, reading) in log.readings.iter().enumerate() {
        #[expect(clippy::cast_precision_loss, reason = "ten")]
        let t = index as f64;
        assert!((reading.t_s - t).abs() < 1e-6, "{reading:?}");
        assert!((reading.pressure_pa - (3_000.0 - 3.0 * t)).abs() < 1e-6, "{reading:?}");
    }
}

#[track_caller]
fn refused(text: &str) -> Vec<String> {
    read(text).unwrap_err().iter().map(ToString::to_string).collect()
}

fn comma(value: f64) -> String {
    value.to_string().replace('.', ",")
}

#[test]
fn the_same_log_is_read_however_it_is_written() {
    let plain = |t: f64, p: f64| format!("{t},{p}");
    let clock = |t: f64| format!("11:05:{:04.1}", t);
    let ways: Vec<(&str, String)> = vec![
        ("rfc 4180", log("time_s,gauge_pa\n", plain)),
        ("crlf", log("time_s,gauge_pa\n", plain).replace('\n', "\r\n")),
        ("cr alone", log("time_s,gauge_pa\n", plain).replace('\n', "\r")),
        ("no headings", log("", plain)),
        ("no line end at the end", log("t,p\n", plain).trim_end().to_owned()),
        ("byte order mark", log("\u{feff}t,p\n", plain)),
        ("quoted", log("\"time (s)\",\"pressure, gauge (Pa)\"\n", |t, p| format!("\"{t}\",\"{p}\""))),
        ("spaces", log("t , p\n", |t, p| format!(" {t} , {p} "))),
        ("semicolons and decimal commas", log("Zeit [s];Druck [mbar]\n", |t, p| format!("{};{}", comma(t), comma(p / 100.0)))),
        ("commas with quoted decimal commas", log("t [s],p [kPa]\n", |t, p| format!("{t},\"{}\"", comma(p / 1_000.0)))),
        ("tabs", log("elapsed time (min)\tgauge pressure (kPa)\n", |t, p| format!("{}\t{}", t / 60.0, p / 1_000.0))),
        ("sep row", format!("sep=;\n{}", log("t;p\n", |t, p| format!("{t};{p}")))),
        ("hectopascal", log("seconds,pressure in hPa\n", |t, p| format!("{t},{}", p / 100.0))),
        ("water", log("time / s,pressure / mmH2O\n", |t, p| format!("{t},{}", p / 9.806_65))),
        ("psi", log("t_s,p_psi\n", |t, p| format!("{t},{}", p / 6_894.757_293_168))),
        ("psig", log("t (ms),p (psig)\n", |t, p| format!("{},{}", t * 1_000.0, p / 6_894.757_293_168))),
        ("thousands", log("t;p [Pa]\n", |t, p| format!("{t};{}", format!("{:.1}", p).replace('.', ",").replacen('2', "2.", 1).replacen("3000", "3.000", 1)))),
        ("time of day", log("time,gauge_pa\n", |t, p| format!("{},{p}", clock(t)))),
        ("date and time", log("timestamp,gauge_pa\n", |t, p| format!("2026-03-03 {},{p}", clock(t)))),
        ("seconds of the epoch", log("time,gauge_pa\n", |t, p| format!("{},{p}", 1_772_535_900.0 + t))),
        ("minutes and seconds", log("time;gauge_pa\n", |t, p| format!("00:{t:02};{p}"))),
        ("units in a row of their own", log("time,pressure\ns,kPa\n", |t, p| format!("{t},{}", p / 1_000.0))),
        ("only units as headings", log("s,mbar\n", |t, p| format!("{t},{}", p / 100.0))),
        ("the logger's own rows above", log("Logger: AirMate 3\nserial;774\n\ntime_s,gauge_pa\n", plain)),
        ("other columns", log("no,time_s,battery,gauge_pa\n", |t, p| format!("{t},{t},3.1,{p}"))),
        ("blank rows", log("t,p\n", |t, p| format!("{t},{p}\n\n,"))),
        ("separators at the end", log("t;p\n", |t, p| format!("{t};{p};;"))),
        ("exponents", log("t,p\n", |t, p| format!("{t},{p:e}"))),
    ];
    for (how, text) in ways {
        let log = read(&text).unwrap_or_else(|faults| panic!("{how}: {faults:?}\n{text}"));
        falls_by_three(&log);
    }
}

#[test]
fn files_of_other_encodings_are_read() {
    let text = log("t [s];p [Pa];T [°C]\n", |t, p| format!("{t};{p};20,5"));
    let latin: Vec<u8> = text.chars().map(|letter| u8::try_from(u32::from(letter)).unwrap()).collect();
    let wide = |unit: fn(u16) -> [u8; 2], mark: [u8; 2]| -> Vec<u8> {
        mark.into_iter().chain(text.encode_utf16().flat_map(unit)).collect()
    };
    for bytes in [text.clone().into_bytes(), latin, wide(u16::to_le_bytes, [0xFF, 0xFE]), wide(u16::to_be_bytes, [0xFE, 0xFF])] {
        let log = read(&text_of(&bytes)).unwrap();
        falls_by_three(&log);
        assert_eq!(log.readings[3].temperature_c, Some(20.5));
    }
}

#[test]
fn temperatures_are_brought_to_celsius_and_stand_in_all_rows_or_none() {
    for (heading, value) in [("temperature (°F)", "68"), ("T [K]", "293.15"), ("air_c", "20"), ("temp °C", "20"), ("Temperatur", "20")] {
        let log = read(&log(&format!("t,p,{heading}\n"), |t, p| format!("{t},{p},{value}"))).unwrap();
        assert!((log.readings[9].temperature_c.unwrap() - 20.0).abs() < 1e-9, "{heading}");
    }
    let none = read(&log("t,p,temperature_c\n", |t, p| format!("{t},{p},"))).unwrap();
    assert!(none.readings.iter().all(|reading| reading.temperature_c.is_none()));
    assert_eq!(none.as_read.columns.len(), 2);
    let some = log("t,p,temperature_c\n", |t, p| if t == 4.0 { format!("{t},{p},") } else { format!("{t},{p},20") });
    assert_eq!(refused(&some), ["row 6, column 3: the temperature is missing; give it in every row, or leave the column out"]);
}

#[test]
fn absolute_pressure_is_known_by_its_heading_and_suspected_by_its_size() {
    for heading in ["absolute pressure (kPa)", "p_abs [kPa]", "pressure (kPa abs)", "pressure (kPaa)", "p [kPa] (abs)", "Absolutdruck [kPa]"] {
        let text = log(&format!("t;{heading}\n"), |t, p| format!("{t};{}", (101_325.0 + p) / 1_000.0));
        let log = read(&text).unwrap_or_else(|faults| panic!("{heading}: {faults:?}"));
        assert!(log.is_absolute(), "{heading}");
        assert_eq!(log.as_read.columns[1].holds, Holds::AbsolutePressure);
        assert!((log.readings[0].pressure_pa - 104_325.0).abs() < 1e-6);
    }
    let unsaid = log("t,pressure (hPa)\n", |t, p| format!("{t},{}", (101_325.0 + p) / 100.0));
    assert!(refused(&unsaid)[0].starts_with("row 2, column 2: looks like absolute pressure"));
}

#[test]
fn what_is_wrong_is_told_with_its_row_and_column() {
    let cases: [(&str, &str); 22] = [
        ("", "row 1: the file is empty"),
        ("\u{feff} \r\n\r\n", "row 1: the file is empty"),
        ("12\n13\n14\n15\n16\n", "row 1: has one column only"),
        ("t,p\n0,3000\n1,x\n2,2994\n3,2991\n4,2988\n", "row 3, column 2: \"x\" is no number"),
        ("t,p\n0,3000\n1,\n2,2994\n3,2991\n4,2988\n", "row 3, column 2: is empty"),
        ("t,p\n\n0,3000\n\n\n1,NaN\n2,2994\n3,2991\n4,2988\n", "row 6, column 2: \"NaN\" is no number"),
        ("t,p\r\n\r\n0,3000\r\n1,OL\r\n2,2994\r\n3,2991\r\n4,2988\r\n", "row 4, column 2: \"OL\" is no number"),
        ("t,p\n0,3000\n1,2997\n1,2994\n3,2991\n4,2988\n", "row 4, column 1: \"1\" is not later"),
        ("t,p\n0,3000\n2,2997\n1,2994\n3,2991\n4,2988\n", "row 4, column 1: \"1\" is not later"),
        ("t;p\n0;3000,5\n1;2997.5\n2;2994\n3;2991\n4;2988\n", "row 3, column 2: \"2997.5\" has a decimal point where the rows before have a decimal comma"),
        ("t,p\n0,3000\n1,2997\n2;2994\n3,2991\n4,2988\n", "row 4: is separated by semicolons where the rows before are separated by commas"),
        ("t,p\n0,0,3000,0\n0,5,2998,5\n", "row 2: has 4 fields where 2 are expected; if the decimals are written with commas"),
        ("0,0,3000,0\n0,5,2998,5\n1,0,2997,0\n", "row 1: has 4 columns and no headings"),
        ("t,p\n0,3000\n1\n2,2994\n3,2991\n4,2988\n", "row 3: has 1 fields where 2 are expected"),
        ("t,p\n0,3000\n1,2997\n2,2994\n3,2991\n", "row 5: the log ends after 4 readings"),
        ("t,p\n", "row 1: the log ends after 0 readings"),
        ("time,flow\n0,3000\n1,2997\n2,2994\n3,2991\n4,2988\n", "row 1: no column is headed pressure"),
        ("when,pressure\n0,3000\n1,2997\n", "row 1: no column is headed time"),
        ("t,pressure (inHg)\n0,0.9\n1,0.8\n", "row 1, column 2: \"pressure (inHg)\" has a unit that is not known here"),
        ("time (Pa),pressure (s)\n0,3000\n1,2997\n", "row 1, column 1: \"time (Pa)\" is a time in a unit of pressure"),
        ("t,p,gauge_kpa\n0,3000,3\n1,2997,3\n", "row 1, column 3: is a second pressure beside column 2"),
        ("t,p\n0,\"3000\n1,2997\n2,2994\n3,2991\n4,2988\n", "row 2, column 2: has a quotation mark that is never closed"),
    ];
    for (text, expected) in cases {
        let told = refused(text);
        assert!(told[0].starts_with(expected), "{text:?}\nexpected {expected}\ntold {told:?}");
    }
}

#[test]
fn all_faults_are_told_up_to_twenty() {
    let two = refused("t,p\n0,a\n1,2\nb,3\n3,4\n5,6\n7,8\n");
    assert_eq!(two.len(), 2, "{two:?}");
    let text = (0..1_000).fold("t,p\n".to_owned(), |mut text, row| {
        writeln!(text, "{row},x").unwrap();
        text
    });
    assert_eq!(refused(&text).len(), 20);
}

#[test]
fn a_log_of_a_hundred_thousand_readings_is_read_and_one_more_is_refused_with_its_row() {
    let rows = |count: u32| {
        (0..count).fold("time_s,gauge_pa\n".to_owned(), |mut text, row| {
            writeln!(text, "{}.{},{}", row / 10, row % 10, 3_000.0 - f64::from(row) / 1_000.0).unwrap();
            text
        })
    };
    assert_eq!(read(&rows(100_000)).unwrap().readings.len(), 100_000);
    let told = refused(&rows(100_001));
    assert!(told[0].starts_with("row 100002: is one reading too many: a log holds at most 100000"), "{told:?}");
    assert_eq!(told.len(), 1);
}

#[test]
fn how_it_was_read_is_told() {
    let log = read("no;Zeit [min];Druck [mbar];Temperatur [°C];Batterie\n1;0,0;30,0;20,1;3\n\n2;0,5;29,9;20,1;3\n3;1,0;29,8;20,1;3\n4;1,5;29,7;20,1;3\n5;2,0;29,6;20,1;3\n").unwrap();
    let told = &log.as_read;
    assert_eq!((told.separator.as_str(), told.decimal_mark.as_str()), ("semicolon", "comma"));
    assert_eq!((told.reading_count, told.blank_row_count), (5, 1));
    assert_eq!(told.ignored_columns, ["no", "Batterie"]);
    let columns: Vec<(usize, Holds, &str)> = told.columns.iter().map(|c| (c.number, c.holds, c.unit.as_str())).collect();
    assert_eq!(columns, [(2, Holds::Time, "min"), (3, Holds::GaugePressure, "mbar"), (4, Holds::Temperature, "°C")]);
    assert_eq!(log.readings.iter().map(|reading| reading.row).collect::<Vec<_>>(), [2, 4, 5, 6, 7]);
    assert!((log.readings[4].t_s - 120.0).abs() < 1e-9);
}

proptest! {
    #[test]
    fn whatever_comes_is_read_or_refused(text in "[ -~\n\r\t;,°\u{feff}\"]{0,400}") {
        drop(read(&text));
    }

    #[test]
    fn any_bytes_are_read_or_refused(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        drop(read(&text_of(&bytes)));
    }

    #[test]
    fn a_log_says_the_same_with_points_and_with_commas(
        steps in proptest::collection::vec((0.001_f64..100.0, -9_999.0_f64..9_999.0), 5..60),
        digits in 1_usize..6,
    ) {
        let mut t = 0.0;
        let rows: Vec<(f64, f64)> = steps.iter().map(|(step, p)| { t += step + 1e-3; (t, *p) }).collect();
        let points: String = rows.iter().map(|(t, p)| format!("{t:.6},{p:.digits$}\n")).collect();
        let commas: String = rows.iter().map(|(t, p)| format!("{t:.6};{p:.digits$}\n").replace('.', ",")).collect();
        let (points, commas) = (read(&points).unwrap(), read(&commas).unwrap());
        prop_assert_eq!(points.readings, commas.readings);
    }
}
