//! Weather files of a made-up place, written after the formats' published descriptions.

use std::f64::consts::TAU;

use hysteron_plant::moist_air::{MoistAir, RelativeHumidity, SEA_LEVEL_PA};

/// One hour of made-up weather, with the digits that the formats have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Month, 1 to 12.
    pub month: u8,
    /// Day of the month, from 1.
    pub day: u8,
    /// Hour that ends here, 1 to 24.
    pub hour: u8,
    /// Dry bulb, degrees C, to a tenth.
    pub dry_bulb_c: f64,
    /// Dew point, degrees C, to a tenth.
    pub dew_point_c: f64,
    /// Relative humidity, percent.
    pub humidity_percent: u8,
}

/// A year of 365 or 366 days with warm afternoons and a warm July.
pub fn hours_of_year(days: u16) -> Vec<Sample> {
    let february = if days == 366 { 29 } else { 28 };
    let lengths = [31, february, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
    let mut hours = Vec::new();
    for (month, length) in (1..).zip(lengths) {
        for day in 1..=length {
            for hour in 1..=24 {
                let index = f64::from(u32::try_from(hours.len()).unwrap_or(u32::MAX));
                hours.push(sample(month, day, hour, index));
            }
        }
    }
    hours
}

fn sample(month: u8, day: u8, hour: u8, index: f64) -> Sample {
    let season = -((index / 8760.0 - 0.04) * TAU).cos();
    let time_of_day = ((f64::from(hour) - 15.0) / 24.0 * TAU).cos();
    let dry_bulb_c = tenths(8.0 + 14.0 * season + 6.0 * time_of_day);
    let humidity_percent = 30 + (hour * 7 + day) % 60;
    let dew_point_c = RelativeHumidity::from_percent(f64::from(humidity_percent))
        .and_then(|humidity| MoistAir::from_relative_humidity(dry_bulb_c, humidity, SEA_LEVEL_PA))
        .map_or(dry_bulb_c, |air| tenths(air.dew_point_c()));
    Sample {
        month,
        day,
        hour,
        dry_bulb_c,
        dew_point_c,
        humidity_percent,
    }
}

fn tenths(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

/// The hours as an EPW file.
pub fn epw(hours: &[Sample]) -> String {
    let mut file = "\
LOCATION,SAMPLETON,WA,USA,made up,000000,47.25,-122.50,-8.0,120.0
DESIGN CONDITIONS,0
TYPICAL/EXTREME PERIODS,0
GROUND TEMPERATURES,0
HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0
COMMENTS 1,a place of our own
COMMENTS 2,
DATA PERIODS,1,1,Data,Monday,1/1,12/31
"
    .to_owned();
    for sample in hours {
        let Sample {
            month, day, hour, ..
        } = sample;
        file += &format!(
            "2001,{month},{day},{hour},60,?9,{:.1},{:.1},{},99800,0,0,300,0,0,0,0,0,0,0,180,3.1,5,5,16.1,77777,9,999999999,13,0.062,0,88,0.2,0,1\n",
            sample.dry_bulb_c, sample.dew_point_c, sample.humidity_percent
        );
    }
    file
}

/// The hours as a TMY3 file, as far as the column of the pressure and one beyond.
pub fn tmy3(hours: &[Sample]) -> String {
    let mut file = "\
000001,\"SAMPLETON\",WA,-8.0,47.250,-122.500,120
Date (MM/DD/YYYY),Time (HH:MM),ETR (W/m^2),ETRN (W/m^2),\
GHI (W/m^2),GHI source,GHI uncert (%),DNI (W/m^2),DNI source,DNI uncert (%),DHI (W/m^2),DHI source,DHI uncert (%),\
GH illum (lx),GH illum source,Global illum uncert (%),DN illum (lx),DN illum source,DN illum uncert (%),\
DH illum (lx),DH illum source,DH illum uncert (%),Zenith lum (cd/m^2),Zenith lum source,Zenith lum uncert (%),\
TotCld (tenths),TotCld source,TotCld uncert (code),OpqCld (tenths),OpqCld source,OpqCld uncert (code),\
Dry-bulb (C),Dry-bulb source,Dry-bulb uncert (code),Dew-point (C),Dew-point source,Dew-point uncert (code),\
RHum (%),RHum source,RHum uncert (code),Pressure (mbar),Pressure source,Pressure uncert (code),Wdir (degrees)
"
    .to_owned();
    for sample in hours {
        let Sample {
            month, day, hour, ..
        } = sample;
        file += &format!(
            "{month:02}/{day:02}/2001,{hour:02}:00,0,0,0,1,0,0,1,0,0,1,0,0,1,0,0,1,0,0,1,0,0,1,0,5,A,7,5,A,7,{:.1},A,7,{:.1},A,7,{},A,7,998,A,7,180\n",
            sample.dry_bulb_c, sample.dew_point_c, sample.humidity_percent
        );
    }
    file
}

/// The hours as a TMY2 file: 142 columns a line.
pub fn tmy2(hours: &[Sample]) -> String {
    let mut file = " 00001 SAMPLETON              WA  -8 N 47 15 W 122 30   120\n".to_owned();
    for sample in hours {
        let Sample {
            month, day, hour, ..
        } = sample;
        let radiation = format!("00000000{}", "0000?0".repeat(7));
        file += &format!(
            " 01{month:02}{day:02}{hour:02}{radiation}05A705A7{:>4}A7{:>4}A7{:>3}A7 998A7180A7031A70161A777777A70999999999013E8062F8000A788E7\n",
            (sample.dry_bulb_c * 10.0).round(),
            (sample.dew_point_c * 10.0).round(),
            sample.humidity_percent
        );
    }
    file
}
