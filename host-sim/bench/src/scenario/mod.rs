//! Scenario files, from text to a checked plan.
//!
//! ```text
//! text -> table (with places) -> plan
//! ```
//!
//! [`plan::Plan::read`] is the way in, [`mod@file`] the outermost table. Each `..._table` file reads one
//! kind of table by rows: an entry's key, form, presence and sentence stand in one place, from which
//! reader, schema and help come. The other files hold what they are read into.
//!
//! # The format
//!
//! A scenario is one TOML file. Quantities are texts with their unit: `"2 °C"`,
//! `"36 °F"`, `"4 K"`, `"1 h 30 min"`, `"60 %"`. A temperature difference may be
//! written in K, °C or °F. Moments count from midnight at the start of day 1:
//! `"14:30"`, `"day 2 06:00"`, or a length of time from the start, `"36 h"`.
//!
//! ```toml
//! title = "A cooler whose probe opens at noon"
//! about = "What it shows, for a person."      # may be left out
//! duration = "24 h"
//! step = "1 s"        # may be left out, as every value shown from here on
//! seed = 1            # all chance is drawn from it
//! installation = "compressor-120"  # what is wired between fuse and plant; see below
//!
//! [plant]             # kind and numbers; see below
//! kind = "refrigerated box"
//!
//! [ambient]
//! kind = "constant"   # temperature, humidity
//! temperature = "25 °C"
//! humidity = "50 %"
//! # kind = "daily"    # coldest, warmest, warmest_at = "15:00", humidity
//! # kind = "weather"  # file (or --weather FILE), first_day = 1 (of the year)
//!
//! [probe]
//! lag = "30 s"
//! dissipation = "2 mW/K"   # or "neglected"
//! converter = "board"      # or "ideal", which loses nothing, for comparisons with closed forms
//! noise_codes = 1          # of the board's 12-bit converter
//! curve = "10k type II"    # the control's own if left out
//!
//! [control]           # any setting by its name, with _ between the words
//! mode = "cool"
//! setpoint = "2 °C"
//! ```
//!
//! **Plants** are `"refrigerated box"`, `"heated tank"`, `"cooled tank"`, `"room"`,
//! `"condenser"` and `"first order"`. Their numbers carry the unit in the name and
//! are listed with defaults and ranges in [`BoxParameters`], [`TankParameters`],
//! [`RoomParameters`], [`CondenserParameters`] and [`FirstOrderParameters`]; a box and
//! a cooled tank take those of [`CompressorParameters`] in `[plant.compressor]`. With
//! `[plant.pump_down]` the relay switches a liquid-line valve, and the suction pressure
//! the compressor; its numbers are those of [`PumpDownParameters`], [`LowSideParameters`]
//! and [`PressureControlParameters`]. Pressures are absolute, or in "psig" or "barg".
//! Each is a plain number (`air_start_c = 4`) or a text in another unit
//! (`air_start_c = "39 °F"`). Choices: `probe_site` ("air", "product", "coil") and
//! `fan` ("continuous", "with load") of a box, `conditioning` ("heating",
//! "cooling") of a room, `kind` ("medium temperature", "low temperature") and
//! `refrigerant` ("R-134a", "R-290", "R-404A", "R-448A", "R-449A") of a compressor.
//!
//! **`installation`** names one that ships or a file beside the scenario. Control, load,
//! fans and contact feedback then have the power that its circuit gives them, and its parts
//! can fail. Suction pressure, head pressure and the door move the contacts that listen to
//! them. It has to have what the plant is driven by: a compressor, a heater, a condenser
//! fan. Without it the relay's contact is the whole circuit.
//!
//! **`contact_feedback`** is "fitted" (that is so unless said otherwise) or "not fitted": whether
//! the board has an input that tells 80 % of the nominal voltage, and more, at the relay's
//! normally open terminal.
//!
//! **Settings** are those of [`Field`]: `minimum_off_time`, `probe_offset` and so
//! on. Words stand for what is not a quantity: `load` ("compressor", "other"),
//! `fallback` ("open", "keep closed", "timed cycle", "measured duty"),
//! `starts_per_hour` (a number or "no limit"), `probe_faults_to_lockout` (a number
//! or "never"), `probe_frozen_after` (a time or "never"), `high_alarm` and
//! `low_alarm` (a temperature or "off"), `defrost_interval` (a time or "off"),
//! `scale` ("celsius", "fahrenheit"). `probe_curve` is a published curve by name or
//! `{ a = …, b = …, c = … }`. `confirm_short_off_time = true` and
//! `confirm_heat_without_probe = true` take responsibility for unusual choices.
//!
//! **`[[variant]]`** has a `name` and `settings = { … }`, `contact_feedback` or both; the
//! scenario then runs once for each variant, side by side, with those settings above
//! `[control]`.
//!
//! **`[[happening]]`** says `at` which moment `what` happens. What lasts takes
//! `for` a length or `until` a moment; `every` repeats it up to `until`;
//! `each_day = true` repeats the whole day after day.
//!
#![doc = include_str!("happenings.md")]
//!
//! **`[[expect]]`** speaks of one thing, `from` a moment `until` another or `at` one,
//! of every case or of one `variant`; `because` names the source of the figure: title,
//! number, year and place, or "common practice", or "from memory".
//!
//! | of | limits |
//! | --- | --- |
//! | `quantity`: one of [`Observable`] | `at_least`, `at_most` |
//! | `count`: "starts", "starts in any hour", "run time", "duty", or one of [`Occurrence`] | `at_least`, `at_most` |
//! | `relay`: "open" or "closed" | throughout |
//! | `order`: a list of [`Occurrence`]s | one after the other, others between |
//! | `shortest`: "rest" or "run" | `at_least` |
//!
//! In a plant that pumps down these are of the valve, and "compressor starts", "compressor
//! duty", "compressor rest" and so on are of the compressor behind it.
//!
//! [`BoxParameters`]: hysteron_plant::refrigerated_box::BoxParameters
//! [`TankParameters`]: hysteron_plant::tank::TankParameters
//! [`RoomParameters`]: hysteron_plant::room::RoomParameters
//! [`CondenserParameters`]: hysteron_plant::condenser::CondenserParameters
//! [`FirstOrderParameters`]: hysteron_plant::first_order::FirstOrderParameters
//! [`CompressorParameters`]: hysteron_plant::compressor_parameters::CompressorParameters
//! [`PumpDownParameters`]: hysteron_plant::pump_down::PumpDownParameters
//! [`LowSideParameters`]: hysteron_plant::low_side::LowSideParameters
//! [`PressureControlParameters`]: hysteron_plant::pressure_control::PressureControlParameters
//! [`Field`]: hysteron_logic::field::Field
//! [`Observable`]: expectation::Observable
//! [`Occurrence`]: expectation::Occurrence

pub mod ambient_table;
pub mod bundled;
mod cases;
mod dormant;
pub mod edit;
pub mod expectation;
mod expectation_rows;
mod expectation_table;
mod failing_part;
pub mod file;
pub mod happening;
mod happening_table;
pub mod happenings;
pub mod installation_name;
mod measure;
pub mod overridden;
pub mod plan;
mod plant_rows;
pub mod plant_table;
pub mod probe_table;
pub mod quantity_text;
mod schedule;
pub mod search_paths;
pub mod seed;
pub mod setting;
pub mod settings_table;
pub mod timeline;
pub mod unit;
mod written_settings;
