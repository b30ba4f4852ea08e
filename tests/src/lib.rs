//! What the tests share: a bench to run the control on, and checks over any trace.

pub mod drawing_reader;
pub mod font_widths;
pub mod imports;
pub mod promise;
pub mod published_table;
pub mod sample_run;
pub mod watched_board;
pub mod weather_samples;
pub mod wired_run;
pub mod wiring;
pub mod wrong_figures;
pub mod wrong_wirings;
pub mod xml_schema;
