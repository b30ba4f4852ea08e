//! Every setting by name: its unit, range, why that range, and a sentence for a person.
//!
//! Each is one row of a table, from which [`Field`] and what is told of it come.
//! The ranges are our own and follow from what the design can keep; no standard sets them.

use Unit::{Count, Difference, Ohms, Temperature};

use crate::time::Duration;

/// What a value is measured in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Unit {
    /// One of a few words.
    Choice,
    /// A plain number.
    Count,
    /// A point on the Celsius scale, in thousandths of a degree.
    Temperature,
    /// A distance on it, in thousandths of a kelvin.
    Difference,
    /// Milliseconds.
    Time,
    /// Ohms.
    Ohms,
}

/// What a person should know of a setting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct About {
    /// Its name, in the trade's words.
    pub name: &'static str,
    /// What its value is measured in.
    pub unit: Unit,
    /// Lowest value, in thousandths of a degree, milliseconds, ohms or as a count.
    pub lowest: i64,
    /// Highest value.
    pub highest: i64,
    /// What it does.
    pub sentence: &'static str,
    /// What the design can keep, and so why the range is what it is; empty for a choice.
    pub because: &'static str,
}

const fn about(
    name: &'static str,
    unit: Unit,
    lowest: i64,
    highest: i64,
    sentence: &'static str,
    because: &'static str,
) -> About {
    About {
        name,
        unit,
        lowest,
        highest,
        sentence,
        because,
    }
}

const fn choice(name: &'static str, sentence: &'static str) -> About {
    about(name, Unit::Choice, 0, 0, sentence, "")
}

const fn time(
    name: &'static str,
    lowest: Duration,
    highest: Duration,
    sentence: &'static str,
    because: &'static str,
) -> About {
    about(
        name,
        Unit::Time,
        lowest.millis().cast_signed(),
        highest.millis().cast_signed(),
        sentence,
        because,
    )
}

const SETPOINTS: &str = "Between these every curve is read to 0.02 K.";
const RUN_AND_REST: &str =
    "The longest rest and the longest run together leave a start in every hour.";
const BELIEVED: &str = "Beyond these no probe is believed.";
const ALARM_DELAYS: &str = "A delay of more than a day is no alarm.";

const fn seconds(seconds: u32) -> Duration {
    Duration::from_seconds(seconds)
}

const fn minutes(minutes: u32) -> Duration {
    Duration::from_minutes(minutes)
}

const fn hours(hours: u32) -> Duration {
    Duration::from_hours(hours)
}

/// One row for each setting: what it is in a comment, and what a person should know of it.
macro_rules! settings {
    ($( #[doc = $doc:literal] $setting:ident => $about:expr; )+) => {
        /// One setting.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        #[cfg_attr(feature = "defmt", derive(defmt::Format))]
        pub enum Field {
            $( #[doc = $doc] $setting, )+
        }

        impl Field {
            /// Every setting, in the order in which people meet them.
            pub const ALL: [Self; [$( stringify!($setting) ),+].len()] = [$( Self::$setting ),+];

            /// What a person should know of this setting.
            #[must_use]
            pub const fn about(self) -> About {
                match self {
                    $( Self::$setting => $about, )+
                }
            }
        }
    };
}

settings! {
    /// Cool or heat.
    Mode => choice("mode", "Whether the load cools or heats.");
    /// What the relay switches.
    Load => choice(
        "load",
        "What the relay switches; a compressor needs its rest between runs.",
    );
    /// Where the call ends.
    Setpoint => about(
        "setpoint",
        Temperature,
        -40_000,
        100_000,
        "The temperature at which the space is satisfied.",
        SETPOINTS,
    );
    /// From the setpoint to where the call begins.
    Differential => about(
        "differential",
        Difference,
        200,
        20_000,
        "How far the temperature may move from the setpoint before the space calls.",
        "0.2 K is ten times what a reading may be off; 20 K above the highest setpoint is the hottest that a probe is believed.",
    );
    /// Lowest setpoint a user may choose.
    LowestSetpoint => about(
        "lowest setpoint",
        Temperature,
        -40_000,
        100_000,
        "A user cannot choose a setpoint below this.",
        SETPOINTS,
    );
    /// Highest setpoint a user may choose.
    HighestSetpoint => about(
        "highest setpoint",
        Temperature,
        -40_000,
        100_000,
        "A user cannot choose a setpoint above this.",
        SETPOINTS,
    );
    /// Shortest rest.
    MinimumOffTime => time(
        "minimum off-time",
        Duration::ZERO,
        minutes(30),
        "Once open, the relay stays open at least this long, so that pressures equalise.",
        RUN_AND_REST,
    );
    /// Shortest run.
    MinimumOnTime => time(
        "minimum on-time",
        Duration::ZERO,
        minutes(20),
        "Once closed, the relay stays closed at least this long, so that oil returns.",
        RUN_AND_REST,
    );
    /// Starts in any sliding hour.
    StartsPerHour => about(
        "starts per hour",
        Count,
        1,
        30,
        "The load starts no more often than this in any hour.",
        "The control remembers 30 starts.",
    );
    /// Added to the rest after power-up.
    PowerUpStagger => time(
        "power-up stagger",
        Duration::ZERO,
        seconds(300),
        "Added to the minimum off-time after power-up, so that many controls do not start together.",
        "The control decides once a second: 300 of them start one by one.",
    );
    /// Which thermistor.
    Curve => choice("probe curve", "Which thermistor is connected.");
    /// The resistor above the thermistor.
    FixedResistor => about(
        "fixed resistor",
        Ohms,
        500,
        1_000_000,
        "The resistor above the thermistor, from the converter's reference to its input.",
        "A smaller one heats the thermistor; with a larger one the converter's input current shifts the reading.",
    );
    /// Added to what the probe reads.
    ProbeOffset => about(
        "probe offset",
        Difference,
        -5_000,
        5_000,
        "Added to what the probe reads, to agree with a thermometer that is trusted more.",
        "So every setpoint can still be read; a probe that is further off is the wrong one.",
    );
    /// Surplus of bad time over good at which a fault is declared.
    ProbeFaultDelay => time(
        "probe-fault delay",
        Duration::ZERO,
        minutes(10),
        "A probe fault is declared when bad samples outweigh good ones by this much time.",
        "Meanwhile the last good value holds, and no load is to run on that for longer.",
    );
    /// Good spell until it is withdrawn.
    ProbeRecoveryTime => time(
        "probe recovery time",
        Duration::ZERO,
        minutes(60),
        "A declared fault is withdrawn after good samples for this long.",
        "A probe that was good for an hour is as good as it will be.",
    );
    /// Still spell that counts as bad.
    ProbeFrozenAfter => time(
        "probe frozen after",
        minutes(5),
        hours(24),
        "A reading that has not moved at all for this long is not believed.",
        "A large mass may stand still to the last digit for minutes; a day is what the measured duty remembers.",
    );
    /// What the relay does meanwhile.
    Fallback => choice(
        "fallback",
        "What the relay does while a probe fault is declared.",
    );
    /// Length of a fallback run.
    FallbackOn => time(
        "fallback on",
        minutes(1),
        minutes(60),
        "Length of a run while the fallback cycles.",
        "Less is short cycling; an hour is as long as a load is to run without a reading.",
    );
    /// Length of a fallback rest.
    FallbackOff => time(
        "fallback off",
        minutes(1),
        minutes(240),
        "Length of a rest while the fallback cycles.",
        "Less is short cycling; with the shortest run, four hours of rest are next to nothing.",
    );
    /// Declared faults that lock out.
    ProbeFaultsToLockout => about(
        "probe faults to lockout",
        Count,
        2,
        10,
        "This many declared probe faults within the window lock the load out.",
        "A single fault has its fallback; the control remembers ten.",
    );
    /// The window in which they are counted.
    ProbeFaultWindow => time(
        "probe-fault window",
        minutes(10),
        hours(24),
        "The window in which declared probe faults are counted.",
        "In less no two faults with their recovery fit; faults a day apart have nothing to do with each other.",
    );
    /// Temperature that locks heating out.
    HeatCeiling => about(
        "heat ceiling",
        Temperature,
        -40_000,
        110_000,
        "In heat mode, reaching this temperature opens the relay at once and, once confirmed, locks the load out.",
        "10 K below the hottest that a probe is believed, so that what overshoots is still read.",
    );
    /// How long it must last to lock out.
    HeatCeilingConfirmation => time(
        "heat ceiling confirmation",
        Duration::ZERO,
        seconds(300),
        "At the heat ceiling for this long, the load is locked out until a person comes.",
        "The relay is open meanwhile; what lasts five minutes is no passing disturbance.",
    );
    /// High alarm limit.
    HighAlarm => about(
        "high alarm",
        Temperature,
        -50_000,
        120_000,
        "Warmer than this for the delay raises the high alarm.",
        BELIEVED,
    );
    /// High alarm delay.
    HighAlarmDelay => time(
        "high alarm delay",
        Duration::ZERO,
        hours(24),
        "How long the temperature may lie above the high alarm.",
        ALARM_DELAYS,
    );
    /// Low alarm limit.
    LowAlarm => about(
        "low alarm",
        Temperature,
        -50_000,
        120_000,
        "Colder than this for the delay raises the low alarm.",
        BELIEVED,
    );
    /// Low alarm delay.
    LowAlarmDelay => time(
        "low alarm delay",
        Duration::ZERO,
        hours(24),
        "How long the temperature may lie below the low alarm.",
        ALARM_DELAYS,
    );
    /// Grace of the alarm on the load's side.
    PullDownGrace => time(
        "pull-down grace",
        Duration::ZERO,
        hours(48),
        "After power-up or a change of mode the load is given this long to get there before the alarm on its side counts.",
        "A store full of warm goods takes a day or two to pull down.",
    );
    /// Grace of the high alarm after a defrost.
    GraceAfterDefrost => time(
        "grace after defrost",
        Duration::ZERO,
        minutes(120),
        "After a defrost the load is given this long before the high alarm counts on; what had counted is kept.",
        "As long as the longest defrost: what it warmed is pulled down by then.",
    );
    /// From defrost to defrost.
    DefrostInterval => time(
        "defrost interval",
        hours(1),
        hours(48),
        "From the end of one off-cycle defrost to the beginning of the next.",
        "More often the load hardly runs; a coil that needs none in two days needs no plan.",
    );
    /// Length of a defrost.
    DefrostLength => time(
        "defrost length",
        minutes(1),
        minutes(120),
        "How long the load rests for the coil to clear.",
        "What has not melted in two hours of the box's own air will not.",
    );
    /// Degrees shown to people.
    Scale => choice("scale", "Degrees Celsius or Fahrenheit, for people.");
}

#[cfg(test)]
mod tests {
    use crate::curve::{COLDEST, HOTTEST};
    use crate::divider::Divider;
    use crate::guard::{MOST_STARTS, STARTS_WINDOW};
    use crate::lockout::MOST_REPEATS;

    use super::*;

    #[test]
    fn every_field_is_told_once() {
        for (index, field) in Field::ALL.iter().enumerate() {
            let about = field.about();
            assert!(about.lowest <= about.highest, "{}", about.name);
            assert!(about.sentence.ends_with('.'), "{}", about.name);
            let has_range = about.unit != Unit::Choice;
            assert_eq!(about.because.ends_with('.'), has_range, "{}", about.name);
            for other in &Field::ALL[index + 1..] {
                assert_ne!(about.name, other.about().name);
            }
        }
    }

    fn range(field: Field) -> (i64, i64) {
        (field.about().lowest, field.about().highest)
    }

    #[test]
    fn ranges_end_where_the_design_does() {
        let believed = (COLDEST.millicelsius().into(), HOTTEST.millicelsius().into());
        assert_eq!(range(Field::HighAlarm), believed);
        assert_eq!(range(Field::LowAlarm), believed);
        let hottest_cut_in = range(Field::Setpoint).1 + range(Field::Differential).1;
        assert_eq!(hottest_cut_in, believed.1);
        assert_eq!(range(Field::Setpoint), (-40_000, 100_000));
        assert_eq!(range(Field::LowestSetpoint), range(Field::Setpoint));
        assert_eq!(range(Field::HighestSetpoint), range(Field::Setpoint));
        assert_eq!(range(Field::HeatCeiling).0, range(Field::Setpoint).0);
        let offset = range(Field::ProbeOffset).1;
        assert_eq!(range(Field::ProbeOffset).0, -offset);
        assert!(range(Field::Setpoint).0 - offset >= believed.0);
        assert!(range(Field::Setpoint).1 + offset <= believed.1);
        assert!(range(Field::HeatCeiling).1 + offset < believed.1);
        let longest = range(Field::MinimumOffTime).1 + range(Field::MinimumOnTime).1;
        assert!(longest < STARTS_WINDOW.millis().cast_signed());
        assert_eq!(range(Field::StartsPerHour).1, MOST_STARTS as i64);
        assert_eq!(range(Field::ProbeFaultsToLockout).1, MOST_REPEATS as i64);
        let ohms = (Divider::SMALLEST_OHMS.into(), Divider::LARGEST_OHMS.into());
        assert_eq!(range(Field::FixedResistor), ohms);
    }
}
