//! The control against published tables of its probe, and its records against those it wrote before.

mod probe_accuracy;
mod published_thermistor;
mod record_layouts;
mod vectors;
