//! What is wrong with an installation: before power is put on ([`check`]), and when something
//! has failed ([`fault_finding`]).

pub mod check;
pub mod fault_finding;
