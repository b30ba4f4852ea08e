//! What loggers write, and what is made of it.

use super::*;

fn reading() -> RecordingFormat {
    RecordingFormat {
        time: None,
        value: None,
        unit: None,
        time_format: None,
        longest_gap: Duration::from_hours(1),
        unreadable: Unreadable::Refused,
    }
}

/// Times in seconds and values, or what is wrong.
fn rows(text: &str, reading: RecordingFormat) -> Result<Vec<(u64, Value)>, String> {
    let told = |rejected: Rejected| rejected.to_string();
    let mut recording = Recording::open("a.csv", text.as_bytes(), reading).map_err(told)?;
    let mut rows = Vec::new();
    while let Some(row) = recording.next_row().map_err(told)? {
        rows.push((row.at.millis() / 1_000, row.value));
    }
    Ok(rows)
}

#[test]
fn what_stands_before_the_table_is_passed_over() {
    let wanted = Ok(vec![(0, Value::Celsius(3.0)), (60, Value::Celsius(4.5))]);
    for text in [
        "Logger 7\nRange,-40,85\nDate of calibration,2024-01-01\ntime,box °C\n0,3\n60,4.5\n",
        "Logger 7;;\nTime zone;UTC+1\nNr.;t;box °C\n31.12.2025 18:05;31.12.2025 18:05;3\n\
         31.12.2025 18:06;31.12.2025 18:06;4,5\n",
        "Logger, seven\n\nDatum;Zeit;Wert\n31.12.2025;18:05;3,0 °C\n31.12.2025;18:06;4,5 °C\n",
        "Logger 7\n2025-12-31 18:05:00\t3 °C\n2025-12-31 18:06:00\t4.5 °C\n",
        "time;box\n;°C\n2025/12/31 18:05;3.0\n2025/12/31 18:06;4.5\n",
    ] {
        assert_eq!(rows(text, reading()), wanted, "{text}");
    }
    let named = RecordingFormat {
        value: Some(ColumnChoice::Headed("coil".to_owned())),
        unit: Some(ValueUnit::Celsius),
        ..reading()
    };
    let text = "time,of,export\n0,1,2\ntime,box,coil\n0,1,3\n60,1,4.5\n";
    assert_eq!(rows(text, named), wanted);
}

#[test]
fn a_bad_first_row_is_a_bad_line_and_no_heading() {
    let text = "time,box °C\n0,--\nunplugged,again\n10,3\n";
    let shown = rows(text, reading()).expect_err("a bad line");
    assert!(shown.contains("a.csv:2:3"), "{shown}");
    let skipping = RecordingFormat {
        unreadable: Unreadable::LeftOut,
        ..reading()
    };
    assert_eq!(rows(text, skipping), Ok(vec![(0, Value::Celsius(3.0))]));
}

#[test]
fn day_and_month_are_told_by_the_whole_recording() {
    let text = |dates: [&str; 3]| {
        let rows = dates.map(|date| format!("{date},3\n"));
        format!("time,°C\n{}", rows.concat())
    };
    let patient = || RecordingFormat {
        longest_gap: Duration::from_hours(10 * 366 * 24),
        ..reading()
    };
    let days = |dates| -> Result<u64, String> {
        let rows = rows(&text(dates), patient())?;
        Ok(rows.last().map_or(0, |(seconds, _)| seconds / 86_400))
    };
    // From 11 to 13 December, and from 11 December to 13 November of the next year.
    assert_eq!(days(["11/12/2025", "12/12/2025", "13/12/2025"]), Ok(2));
    assert_eq!(days(["12/11/2025", "12/12/2025", "12/13/2025"]), Ok(2));
    assert_eq!(days(["11.12.2025", "12.12.2025", "01.01.2026"]), Ok(21));
    assert_eq!(days(["11/11/2025", "12/12/2025", "01/01/2026"]), Ok(51));
    let open = days(["12/11/2025", "12/12/2025", "01/01/2026"]).expect_err("either way");
    assert!(open.contains("a.csv:2:1"), "{open}");
    assert!(open.contains("12 November or 11 December"), "{open}");
    assert!(open.contains("%m/%d/%Y %H:%M"), "{open}");
    let both = days(["13/12/2025", "12/13/2025", "12/14/2025"]).expect_err("both ways");
    assert!(both.contains("a.csv:3:1"), "{both}");
    assert!(both.contains("day, month, year"), "{both}");
    let short = days(["13/12/25", "14/12/25", "15/12/25"]).expect_err("two digits");
    assert!(short.contains("--time-format"), "{short}");
    let told = RecordingFormat {
        time_format: Some("%d/%m/%y %H:%M".parse().expect("a format")),
        ..patient()
    };
    let with_time = "time,°C\n03/04/25 10:00,3\n04/04/25 10:00,3\n";
    let rows = rows(with_time, told).expect("as told");
    assert_eq!(rows.last().map(|(seconds, _)| *seconds), Some(86_400));
}

#[test]
fn the_end_of_summer_time_loses_no_hour_and_disorder_stays_disorder() {
    let text = |times: &[&str]| {
        let rows = times.iter().map(|time| format!("2025-10-26 {time},3\n"));
        format!("time,°C\n{}", rows.collect::<String>())
    };
    let times = |list: &[&str]| -> Result<Vec<u64>, String> {
        let rows = rows(&text(list), reading())?;
        Ok(rows
            .iter()
            .map(|(seconds, _)| seconds / 60)
            .collect::<Vec<_>>())
    };
    assert_eq!(
        times(&["02:20", "02:40", "02:00", "02:20", "02:40", "03:00"]),
        Ok(vec![0, 20, 40, 60, 80, 100])
    );
    assert_eq!(
        times(&["01:00", "02:00", "02:00", "03:00"]),
        Ok(vec![0, 60, 120, 180])
    );
    for disorder in [
        // Two lines changed places; the clock was put back by day; it goes back twice.
        &["02:20", "02:22", "02:21", "02:23"][..],
        &["14:20", "14:40", "14:00", "14:20"],
        &["02:20", "02:40", "02:00", "02:20", "02:40", "02:00"],
        &["02:20", "02:20"],
    ] {
        let shown = times(disorder).expect_err("disorder");
        assert!(
            shown.contains("the time goes back") || shown.contains("the same time twice"),
            "{shown}"
        );
    }
    let text = text(&["02:20", "02:40", "02:00", "02:20"]);
    let mut recording = Recording::open("a.csv", text.as_bytes(), reading()).expect("a heading");
    while recording.next_row().expect("a row").is_some() {}
    assert!(recording.notes().any(|note| note.contains("in line 4")));
    let shown = [20, 40, 60].map(|at| recording.moment_text(Duration::from_minutes(at)));
    let wanted = ["02:40", "02:00", "02:20"].map(|time| format!("2025-10-26 {time}:00"));
    assert_eq!(shown, wanted);
}
