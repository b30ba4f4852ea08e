//! Installations: their files, circuits, readings, drawings, checks and the finding of faults.

mod bank;
mod check;
mod check_sweep;
mod circuit;
mod commands;
mod drawing;
mod fault_finding;
mod file;
mod happenings;
mod pressure_controls;
mod readings;
mod reference;
