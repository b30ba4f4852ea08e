//! Reading weather files: three formats, missing values, and every way to be wrong.
//!
//! The files are made here, after the formats' published descriptions: the EPW
//! data dictionary of the EnergyPlus Auxiliary Programs, the Users Manual for
//! TMY3 Data Sets (2008) and the User's Manual for TMY2s (1995).

use std::cell::Cell;

use hysteron::disk::Disk;
use hysteron_bench::scenario::ambient_table::AmbientPlan;
use hysteron_plant::ambient::{Ambient, AmbientClock, Renewal};
use hysteron_plant::weather::{LARGEST_FILE_BYTES, WeatherError, WeatherFormat, WeatherYear};
use hysteron_tests::weather_samples::{epw, hours_of_year, tmy2, tmy3};
use proptest::prelude::*;
use proptest::test_runner::TestRunner;

fn read(content: &str) -> WeatherYear {
    WeatherYear::parse(content.as_bytes(), "sample").expect("a sound file")
}

fn refusal(content: &str) -> WeatherError {
    match WeatherYear::parse(content.as_bytes(), "sample") {
        Ok(year) => panic!("accepted {} hours", year.hours().len()),
        Err(error) => error,
    }
}

/// Replaces a line, counted from 1, by what `edit` makes of it.
fn with_line(content: &str, number: usize, edit: impl Fn(&str) -> String) -> String {
    let lines = content.lines().enumerate().map(|(index, line)| {
        if index + 1 == number {
            edit(line)
        } else {
            line.to_owned()
        }
    });
    lines.collect::<Vec<_>>().join("\n")
}

fn with_field(content: &str, line: usize, field: usize, text: &str) -> String {
    with_line(content, line, |line| {
        let mut fields: Vec<_> = line.split(',').collect();
        fields[field - 1] = text;
        fields.join(",")
    })
}

fn with_columns(content: &str, line: usize, first: usize, text: &str) -> String {
    with_line(content, line, |line| {
        format!(
            "{}{text}{}",
            &line[..first - 1],
            &line[first - 1 + text.len()..]
        )
    })
}

#[test]
fn one_year_reads_the_same_from_every_format() {
    let hours = hours_of_year(365);
    assert_eq!(hours.len(), 8760);
    for (format, content) in [
        (WeatherFormat::Epw, epw(&hours)),
        (WeatherFormat::Tmy3, tmy3(&hours)),
        (WeatherFormat::Tmy2, tmy2(&hours)),
    ] {
        let year = read(&content);
        assert_eq!(year.format(), format);
        assert_eq!(year.hours().len(), 8760);
        assert_eq!(year.filled_hours(), 0);
        for (ours, written) in year.hours().iter().zip(&hours) {
            assert_eq!(ours.dry_bulb_c, written.dry_bulb_c);
            let written_percent = f64::from(written.humidity_percent);
            assert!((ours.humidity.percent() - written_percent).abs() < 1e-9);
        }
        let station = year.station();
        assert!(station.name.starts_with("SAMPLETON"), "{}", station.name);
        assert!((station.latitude_deg - 47.25).abs() < 1e-12);
        assert!((station.longitude_deg - -122.5).abs() < 1e-12);
        assert_eq!((station.time_zone_h, station.elevation_m), (-8.0, 120.0));
        assert!((year.mean_pressure_pa() - 99_800.0).abs() < 1e-6);
    }
}

#[test]
fn line_ends_marks_and_foreign_letters_do_not_matter() {
    let content = tmy3(&hours_of_year(365));
    let plain = read(&content);
    let dos = content.replace('\n', "\r\n");
    assert_eq!(read(&dos).hours(), plain.hours());
    assert_eq!(read(&format!("\u{feff}{content}\n\n")), plain);
    let mut latin = content.clone().into_bytes();
    let place = content.find("SAMPLETON").expect("the name");
    latin[place] = 0xe9;
    let year = WeatherYear::parse(&latin, "sample").expect("a sound file");
    assert!(year.station().name.ends_with("AMPLETON, WA"));
}

#[test]
fn a_comma_within_quotes_is_part_of_the_name() {
    let content = tmy3(&hours_of_year(365)).replace("\"SAMPLETON\"", "\"SAMPLETON, NORTH\"");
    assert_eq!(read(&content).station().name, "SAMPLETON, NORTH, WA");
}

#[test]
fn a_leap_year_has_a_day_more() {
    assert_eq!(read(&epw(&hours_of_year(366))).hours().len(), 8784);
}

#[test]
fn missing_values_are_filled_in_and_counted() {
    let hours = hours_of_year(365);
    // Hour 100 stands in the line 100 below the header.
    let (before, after) = (hours[98].dry_bulb_c, hours[100].dry_bulb_c);
    for content in [
        with_field(&epw(&hours), 8 + 100, 7, "99.9"),
        with_field(&epw(&hours), 8 + 100, 7, ""),
        with_field(&tmy3(&hours), 2 + 100, 32, "-9900"),
        with_columns(&tmy2(&hours), 1 + 100, 68, "9999"),
    ] {
        let year = read(&content);
        assert_eq!(year.filled_hours(), 1);
        let filled_c = year.hours()[99].dry_bulb_c;
        assert!((filled_c - 0.5 * (before + after)).abs() < 1e-12);
    }
}

#[test]
fn a_missing_humidity_comes_from_the_dew_point() {
    let hours = hours_of_year(365);
    for content in [
        with_field(&epw(&hours), 8 + 100, 9, "999"),
        with_field(&tmy3(&hours), 2 + 100, 38, "-9900"),
        with_columns(&tmy2(&hours), 1 + 100, 80, "999"),
    ] {
        let year = read(&content);
        assert_eq!(year.filled_hours(), 0);
        let percent = year.hours()[99].humidity.percent();
        // The dew point is written to a tenth of a kelvin.
        assert!((percent - f64::from(hours[99].humidity_percent)).abs() < 0.6);
    }
}

#[test]
fn a_station_without_pressure_has_that_of_its_elevation() {
    let content = tmy3(&hours_of_year(365)).replace(",998,", ",-9900,");
    // ISO 2533: 99.89 kPa at 120 m.
    assert!((read(&content).mean_pressure_pa() - 99_890.0).abs() < 10.0);
}

#[test]
fn what_is_wrong_is_said_with_its_place() {
    let hours = hours_of_year(365);
    let (epw, tmy3, tmy2) = (epw(&hours), tmy3(&hours), tmy2(&hours));
    let cut =
        |content: &str, lines: usize| content.lines().take(lines).collect::<Vec<_>>().join("\n");
    let cases = [
        (
            "not a number",
            with_field(&epw, 20, 7, "warm"),
            "sample:20:19: found \"warm\"; expected dry-bulb temperature in °C, -90 to 70 (EPW)",
        ),
        (
            "infinite",
            with_field(&epw, 20, 7, "inf"),
            "sample:20:19: found \"inf\"",
        ),
        (
            "too cold",
            with_field(&tmy3, 9, 32, "-91"),
            "expected dry-bulb temperature in °C, -90 to 70 (TMY3)",
        ),
        (
            "tenths",
            with_columns(&tmy2, 9, 68, " 999"),
            "sample:9:69: found \"999\"; expected dry-bulb temperature in tenths of °C, -900 to 700 (TMY2)",
        ),
        (
            "humidity",
            with_field(&epw, 30, 9, "111"),
            "found \"111\"; expected relative humidity in %, 0 to 110",
        ),
        (
            "pressure",
            with_field(&tmy3, 30, 41, "99800"),
            "found \"99800\"; expected station pressure in mbar, 350 to 1200",
        ),
        (
            "short line",
            with_line(&epw, 50, |_| "2001,1,2,18,60,?,5.0".to_owned()),
            "sample:50:21: found nothing; expected field 8 of the line: dew-point temperature",
        ),
        (
            "no fields",
            with_line(&epw, 50, |_| "2001".to_owned()),
            "sample:50:1: found \"2001\"; expected year,month,day,hour,minute and 30 more fields",
        ),
        (
            "short fixed line",
            with_line(&tmy2, 50, |line| line[..60].to_owned()),
            "expected dry-bulb temperature in tenths of °C, -900 to 700, in columns 68 to 71",
        ),
        (
            "an hour twice",
            with_field(&epw, 10, 4, "1"),
            "expected month 1, day 1, hour 2: the hours of a whole year in order",
        ),
        (
            "no such hour",
            with_field(&tmy3, 10, 2, "25:30"),
            "sample:10:12: found \"25:30\"; expected a time from 01:00 to 24:00",
        ),
        (
            "another kind of date",
            with_field(&tmy3, 10, 1, "2001-01-01"),
            "sample:10:1: found \"2001-01-01\"; expected a date as MM/DD/YYYY",
        ),
        (
            "month in letters",
            with_columns(&tmy2, 10, 4, "JA"),
            "sample:10:4: found \"JA\"; expected a month, 1 to 12, in columns 4 and 5",
        ),
        (
            "cut short",
            cut(&epw, 8000),
            "sample:8001:1: found nothing; expected month 11, day 30, hour 1",
        ),
        (
            "header only",
            cut(&tmy3, 2),
            "sample:3:1: found nothing; expected month 1, day 1, hour 1",
        ),
        (
            "too long",
            format!("{tmy2}{}", tmy2.lines().last().expect("a line")),
            "sample:8762:2: found \"01123124\"; expected the end of the file",
        ),
        (
            "no column",
            tmy3.replace("Dry-bulb (C)", "Temperature"),
            "expected a column named Dry-bulb (C)",
        ),
        (
            "no header end",
            epw.replace("DATA PERIODS", "DATA SPANS"),
            "sample:33:1: found nothing; expected a header that ends with DATA PERIODS",
        ),
        (
            "half-hourly",
            epw.replace("DATA PERIODS,1,1", "DATA PERIODS,1,2"),
            "sample:8:16: found \"2\"; expected 1, for one record an hour",
        ),
        (
            "off the globe",
            with_field(&epw, 1, 7, "91"),
            "sample:1:42: found \"91\"; expected latitude in degrees, -90 to 90",
        ),
        (
            "no station",
            with_line(&tmy3, 1, |_| "703165".to_owned()),
            "sample:1:7: found nothing; expected seven fields",
        ),
        (
            "no degrees",
            with_columns(&tmy2, 1, 40, "xx"),
            "sample:1:40: found \"xx\"; expected latitude",
        ),
    ];
    for (name, content, expected) in cases {
        let message = refusal(&content).to_string();
        assert!(message.contains(expected), "{name}: {message}");
    }
}

#[test]
fn a_long_gap_is_refused_where_it_begins() {
    let mut content = epw(&hours_of_year(365));
    for line in 208..208 + 25 {
        content = with_field(&content, line, 7, "99.9");
    }
    let message = refusal(&content).to_string();
    assert!(message.starts_with("sample:208:1:"), "{message}");
    assert!(
        message.contains("dry-bulb temperature at least once in 25 hours"),
        "{message}"
    );
}

#[test]
fn what_is_no_weather_is_refused() {
    for content in ["", "\n\n\n", "a,b,c\n1,2,3", "{\"a\": 1}"] {
        assert!(matches!(
            refusal(content),
            WeatherError::UnknownFormat { .. }
        ));
    }
    for path in ["no-such-file.epw", env!("CARGO_MANIFEST_DIR")] {
        let ambient = AmbientPlan::Weather {
            file: path.into(),
            first_day: 1,
        };
        let refused = ambient.build(&Disk).err().map(|error| error.to_string());
        let expected = format!("{path}: the weather file can't be read: ");
        assert!(
            refused
                .as_ref()
                .is_some_and(|told| told.starts_with(&expected)),
            "{refused:?}"
        );
    }
    let largest = usize::try_from(LARGEST_FILE_BYTES).expect("a size");
    let huge = WeatherYear::parse(&vec![b'\n'; largest + 1], "sample");
    assert!(matches!(huge, Err(WeatherError::TooLarge { .. })));
}

#[test]
fn the_ambient_follows_the_weather_from_hour_to_hour_and_year_to_year() {
    let hours = hours_of_year(365);
    let ambient = Ambient::weather(read(&epw(&hours)).into());
    let year_s = 8760.0 * 3600.0;
    for (index, hour) in hours.iter().enumerate() {
        let observed_s = 3600.0 * (index + 1) as f64;
        let at_hour = ambient.air_at(observed_s);
        assert!((at_hour.temp_c - hour.dry_bulb_c).abs() < 1e-9);
        let next = hours.get(index + 1).unwrap_or(&hours[0]);
        let halfway = ambient.air_at(observed_s + 1800.0);
        assert!((halfway.temp_c - 0.5 * (hour.dry_bulb_c + next.dry_bulb_c)).abs() < 1e-9);
        let a_year_on = ambient.air_at(observed_s + year_s);
        assert!((a_year_on.temp_c - hour.dry_bulb_c).abs() < 1e-6);
    }
    assert_eq!(ambient.pressure_pa(), 99_800.0);

    let mut clock = AmbientClock::new(ambient, 1800.0);
    assert_eq!(clock.advance(1800.0), Renewal::Renewed);
    assert_eq!(clock.temp_c(), hours[0].dry_bulb_c);
    assert!((clock.moist_air().pressure_pa() - 99_800.0).abs() < 1e-6);
}

fn any_file() -> impl Strategy<Value = Vec<u8>> {
    let hours = hours_of_year(365);
    prop::sample::select(vec![
        epw(&hours).into_bytes(),
        tmy3(&hours).into_bytes(),
        tmy2(&hours).into_bytes(),
    ])
}

/// Whatever is accepted must be a year that a simulation can stand on.
fn assert_sound(year: &WeatherYear) {
    assert!([8760, 8784].contains(&year.hours().len()));
    for hour in year.hours() {
        assert!((-90.0..=70.0).contains(&hour.dry_bulb_c));
    }
    assert!((35_000.0..=120_000.0).contains(&year.mean_pressure_pa()));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn a_file_cut_short_is_refused(file in any_file(), part in 0.0..1.0_f64) {
        let last_line = file.trim_ascii_end().iter().rposition(|&byte| byte == b'\n').unwrap_or(0);
        let length = (part * last_line as f64) as usize;
        prop_assert!(WeatherYear::parse(&file[..length], "sample").is_err());
    }

    #[test]
    fn noise_behind_a_beginning_is_refused(
        beginning in prop::sample::select(vec![
            "",
            "LOCATION,",
            "LOCATION,a,b,c,d,0,1,2,3,4\nDATA PERIODS,1,1\n",
            "1,\"a\",b,1,2,3,4\nDate (MM/DD/YYYY)",
            "1,\"a\",b,1,2,3,4\nDate (MM/DD/YYYY),Time (HH:MM),Dry-bulb (C),Dew-point (C),RHum (%),Pressure (mbar)\n",
            " 00001 SAMPLETON              WA  -8 N 47 15 W 122 30   120\n",
        ]),
        noise in prop::collection::vec(
            prop_oneof![any::<u8>(), prop::sample::select(b"0123456789,.-/:\n \"".to_vec())],
            0..2000,
        ),
    ) {
        let mut file = beginning.as_bytes().to_vec();
        file.extend(noise);
        let error = WeatherYear::parse(&file, "sample");
        prop_assert!(error.is_err_and(|error| !error.to_string().is_empty()));
    }
}

#[test]
fn a_damaged_file_is_read_or_refused() {
    let damage = prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6);
    let (read, refused) = (Cell::new(0), Cell::new(0));
    TestRunner::new(ProptestConfig::with_cases(96))
        .run(&(any_file(), damage), |(mut file, damage)| {
            for (place, byte) in damage {
                let place = place.index(file.len());
                file[place] = byte;
            }
            match WeatherYear::parse(&file, "sample") {
                Ok(year) => {
                    assert_sound(&year);
                    read.set(read.get() + 1);
                }
                Err(_) => refused.set(refused.get() + 1),
            }
            Ok(())
        })
        .expect("neither a panic nor an unsound year");
    assert!(read.get() > 0, "no damaged file was still readable");
    assert!(refused.get() > 0, "no damage was noticed");
}
