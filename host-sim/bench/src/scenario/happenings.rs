//! Everything that can happen, one row for each: its words in a file, how long it goes on, what the
//! plant must have for it, what else the file says of it.

use super::ambient_table::AIR;
use super::happening::{Happening, Hold, Lasting};
use super::measure::Measure;
use hysteron_source::entry::{Optional, Required};

/// One thing that can happen.
#[derive(Debug)]
pub struct HappeningRow {
    /// What a file calls it.
    pub words: &'static str,
    /// How long it goes on.
    pub lasts: Lasts,
    /// What the plant must have for it.
    pub needs: Needs,
    /// What else a file says of it.
    pub takes: Takes,
    /// What it means.
    pub sentence: &'static str,
}

/// How long something goes on.
#[derive(Debug)]
pub enum Lasts {
    /// It is over at once.
    Moment,
    /// It holds this for a time that must be given.
    ForATime(Hold),
    /// It holds this for a time, or until it is mended.
    UntilMended(Hold),
    /// It holds a part of the installation for a time, or until that is mended.
    UntilPartIsMended,
}

impl Lasts {
    /// The same in a sentence, for who writes a file.
    #[must_use]
    pub fn sentence(&self) -> String {
        let until_mended = |mended: &str| {
            format!("It lasts for a time (`for` or `until`), or until \"{mended}\".")
        };
        match self {
            Self::Moment => "It is over at once.".to_owned(),
            Self::ForATime(_) => "It lasts for a time: give `for` or `until`.".to_owned(),
            Self::UntilMended(hold) => until_mended(hold.mended_by().unwrap_or_default()),
            Self::UntilPartIsMended => until_mended("part is mended"),
        }
    }
}

/// What a plant must have for something to happen to it.
#[derive(Debug, Clone, Copy)]
pub enum Needs {
    /// Nothing that not every plant has.
    Nothing,
    /// A door.
    Door,
    /// Water that can be drawn.
    Draw,
    /// Product that can be exchanged.
    Product,
    /// A liquid-line valve.
    LiquidLineValve,
    /// Air around that has an effect on it.
    Surroundings,
}

/// What else a file says of a happening, and what is made of it.
#[derive(Debug)]
pub enum Takes {
    /// Nothing.
    Nothing(Happening),
    /// A quantity.
    One(Required<Measure>, fn(f64) -> Happening),
    /// Two quantities.
    Two([Required<Measure>; 2], fn(f64, f64) -> Happening),
    /// The temperature of the air around, or how much warmer it becomes.
    Ambient,
    /// Settings.
    Settings,
    /// A part of the installation, and what becomes wrong with it.
    PartAndFault,
    /// A part of the installation that is whole again.
    MendedPart,
}

/// One table for what is told of a [`Happening`] and what is read into it.
macro_rules! happenings {
    ($( $words:literal, $told:pat, $lasts:expr, $needs:expr, $takes:expr, $sentence:literal; )+) => {
        /// Every row, in the order in which messages list them.
        pub static HAPPENINGS: &[HappeningRow] = &[$( HappeningRow {
            words: $words,
            lasts: $lasts,
            needs: $needs,
            takes: $takes,
            sentence: $sentence,
        }, )+];

        impl Happening {
            /// What a file calls it.
            const fn file_words(&self) -> &'static str {
                match self { $( $told => $words, )+ }
            }
        }
    };
}

use Lasts::{ForATime, Moment, UntilMended, UntilPartIsMended};

happenings! {
    "door opens", Happening::DoorOpens,
        ForATime(Hold::Door), Needs::Door, Takes::Nothing(Happening::DoorOpens),
        "The door stands wide open.";
    "ambient changes", Happening::AmbientIs(_) | Happening::AmbientShifts(_),
        UntilMended(Hold::Ambient), Needs::Surroundings, Takes::Ambient,
        "The air around has another temperature: give `temperature`, or `by` how much it is warmer.";
    "product is loaded", Happening::ProductLoaded { .. },
        Moment, Needs::Product, Takes::Two([MASS, LOADED_AT], loaded),
        "Product arrives, and an equal mass leaves.";
    "heat is added", Happening::HeatAdded(_),
        ForATime(Hold::Heat), Needs::Surroundings, Takes::One(POWER, Happening::HeatAdded),
        "People, lights, breathing product bring heat in.";
    "water is drawn", Happening::WaterDrawn(_),
        ForATime(Hold::Draw), Needs::Draw, Takes::One(FLOW, drawn),
        "Water is drawn from a tank, and as much flows in.";
    "probe opens", Happening::ProbeOpens,
        UntilMended(Hold::Probe), Needs::Nothing, Takes::Nothing(Happening::ProbeOpens),
        "A wire of the probe breaks.";
    "probe shorts", Happening::ProbeShorts,
        UntilMended(Hold::Probe), Needs::Nothing, Takes::Nothing(Happening::ProbeShorts),
        "The wires of the probe touch.";
    "probe freezes", Happening::ProbeFreezes,
        UntilMended(Hold::Probe), Needs::Nothing, Takes::Nothing(Happening::ProbeFreezes),
        "The reading stands still.";
    "probe drifts", Happening::ProbeDrifts(_),
        UntilMended(Hold::Probe), Needs::Nothing, Takes::One(RATE, Happening::ProbeDrifts),
        "The reading moves away from the truth.";
    "probe jumps", Happening::ProbeJumps(_),
        UntilMended(Hold::Probe), Needs::Nothing, Takes::One(PROBE_JUMP, Happening::ProbeJumps),
        "The reading is wrong by so much.";
    "supply dips", Happening::SupplyDips(_),
        ForATime(Hold::Supply), Needs::Nothing, Takes::One(DIP, Happening::SupplyDips),
        "The supply falls to a share of its rated voltage.";
    "power is cut", Happening::PowerCut,
        ForATime(Hold::Supply), Needs::Nothing, Takes::Nothing(Happening::PowerCut),
        "The supply is gone.";
    "settings change", Happening::SettingsChange(_),
        Moment, Needs::Nothing, Takes::Settings,
        "A person asks for other settings.";
    "settings are locked", Happening::SettingsLocked,
        UntilMended(Hold::Lock), Needs::Nothing, Takes::Nothing(Happening::SettingsLocked),
        "The settings lock is on.";
    "control is switched off", Happening::SwitchedOff,
        UntilMended(Hold::Switch), Needs::Nothing, Takes::Nothing(Happening::SwitchedOff),
        "The control rests.";
    "lockout is released", Happening::LockoutReleased,
        Moment, Needs::Nothing, Takes::Nothing(Happening::LockoutReleased),
        "A person releases the lockout.";
    "valve leaks", Happening::ValveLeaks(_),
        UntilMended(Hold::Valve), Needs::LiquidLineValve, Takes::One(LEAK, Happening::ValveLeaks),
        "The liquid-line valve lets refrigerant pass while it is closed.";
    "contact welds", Happening::ContactWelds,
        UntilMended(Hold::Contact), Needs::Nothing, Takes::Nothing(Happening::ContactWelds),
        "The relay's contact stays closed, whatever the coil does.";
    "contact burns open", Happening::ContactBurns,
        UntilMended(Hold::Contact), Needs::Nothing, Takes::Nothing(Happening::ContactBurns),
        "The relay's contact stays open, whatever the coil does.";
    "part fails", Happening::PartFails(_),
        UntilPartIsMended, Needs::Nothing, Takes::PartAndFault,
        "A part of the installation fails.";
    "part is mended", Happening::ProtectionRestored(_),
        Moment, Needs::Nothing, Takes::MendedPart,
        "A part is whole again; a fuse or breaker, too, that opened by itself.";
    "clock jumps", Happening::ClockJumps(_),
        Moment, Needs::Nothing, Takes::One(CLOCK_JUMP, Happening::ClockJumps),
        "The clock that the control is given moves at once; back where negative.";
    "clock stops", Happening::ClockStops,
        ForATime(Hold::Clock), Needs::Nothing, Takes::Nothing(Happening::ClockStops),
        "The clock that the control is given stands still.";
}

const MASS: Required<Measure> = Required {
    key: "mass",
    example: "\"50 kg\"",
    form: Measure {
        unit: "kg",
        example: "50 kg",
        range: Some(("1 g", "1000000 kg")),
    },
    sentence: "How much arrives.",
};

const LOADED_AT: Required<Measure> = Required {
    key: "temperature",
    example: "\"15 °C\"",
    form: Measure {
        unit: "°C",
        example: "15 °C",
        range: Some(("-60 °C", "110 °C")),
    },
    sentence: "How warm it arrives.",
};

const fn loaded(mass_kg: f64, temperature_c: f64) -> Happening {
    Happening::ProductLoaded {
        mass_kg,
        temperature_c,
    }
}

const POWER: Required<Measure> = Required {
    key: "power",
    example: "\"500 W\"",
    form: Measure {
        unit: "W",
        example: "500 W",
        range: Some(("-1000000 W", "1000000 W")),
    },
    sentence: "How much heat.",
};

const FLOW: Required<Measure> = Required {
    key: "flow",
    example: "\"6 L/min\"",
    form: Measure {
        unit: "L/min",
        example: "6 L/min",
        range: Some(("0 L/min", "6000 L/min")),
    },
    sentence: "How much water.",
};

/// A litre of water is a kilogram.
const fn drawn(litres_min: f64) -> Happening {
    Happening::WaterDrawn(litres_min / 60.0)
}

const RATE: Required<Measure> = Required {
    key: "rate",
    example: "\"0.5 K/h\"",
    form: Measure {
        unit: "K/h",
        example: "0.5 K/h",
        range: Some(("-100 K/h", "100 K/h")),
    },
    sentence: "How fast the reading moves away.",
};

const PROBE_JUMP: Required<Measure> = Required {
    key: "by",
    example: "\"5 K\"",
    form: Measure {
        unit: "K",
        example: "5 K",
        range: Some(("-150 K", "150 K")),
    },
    sentence: "How far off the reading is.",
};

const DIP: Required<Measure> = Required {
    key: "to",
    example: "\"70 %\"",
    form: Measure {
        unit: "",
        example: "70 %",
        range: Some(("0 %", "120 %")),
    },
    sentence: "The share of the voltage that is left.",
};

const LEAK: Required<Measure> = Required {
    key: "share",
    example: "\"1 %\"",
    form: Measure {
        unit: "",
        example: "1 %",
        range: Some(("0 %", "100 %")),
    },
    sentence: "The share of full flow that passes.",
};

const CLOCK_JUMP: Required<Measure> = Required {
    key: "by",
    example: "\"-1 h\"",
    form: Measure {
        unit: "s",
        example: "-1 h",
        range: Some(("-100000000 s", "100000000 s")),
    },
    sentence: "How far the clock moves.",
};

/// What the air around becomes.
pub const AMBIENT_TEMPERATURE: Optional<Measure> = Optional {
    key: "temperature",
    form: AIR,
    sentence: "What the temperature becomes.",
};

/// How much warmer the air around becomes.
pub const AMBIENT_SHIFT: Optional<Measure> = Optional {
    key: "by",
    form: Measure {
        unit: "K",
        example: "5 K",
        range: Some(("-60 K", "60 K")),
    },
    sentence: "How much warmer it becomes; colder where negative.",
};

impl Happening {
    /// Its row.
    ///
    /// # Panics
    /// Never: the table has a row for each.
    #[must_use]
    pub fn row(&self) -> &'static HappeningRow {
        let words = self.file_words();
        let row = HAPPENINGS.iter().find(|row| row.words == words);
        row.unwrap_or_else(|| unreachable!("the words are those of a row"))
    }

    /// What it is, in words.
    #[must_use]
    pub fn words(&self) -> &str {
        match self.failure() {
            Some(failure) => failure.words(),
            None => self.file_words(),
        }
    }

    /// How long it goes on.
    #[must_use]
    pub fn lasting(&self) -> Lasting {
        match (&self.row().lasts, self.failure()) {
            (Moment, _) | (UntilPartIsMended, None) => Lasting::Moment,
            (ForATime(hold), _) => Lasting::ForATime(hold.clone()),
            (UntilMended(hold), _) => Lasting::UntilMended(hold.clone()),
            (UntilPartIsMended, Some(failure)) => {
                Lasting::UntilMended(Hold::Part(failure.part.clone()))
            }
        }
    }
}
